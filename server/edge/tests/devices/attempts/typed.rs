//! Attempts with typed codes and their proofs, and with the token of a name that was paired anew.

use fettlebook_contract::pairing::Key;
use prost::Message as _;
use sha2::{Digest as _, Sha256};

use super::*;
use crate::access::Invitation;

/// SHA-256 of the token's secret that a device would have.
const TOKEN_HASH: [u8; 32] = [5; 32];

fn invited(shop: &Shop, name: &str, again: bool) -> Invitation {
    let invite = Invite {
        name: id(name),
        role: Role::Work,
        by: "local".to_owned(),
        at: None,
        again,
        office: None,
    };
    shop.access.invite(&invite, shop.clock.now()).unwrap()
}

fn shown(proof: [u8; 32], token_hash: [u8; 32]) -> Vec<u8> {
    let request = v1::PairDeviceRequest {
        code_proof: proof.to_vec(),
        token_hash: token_hash.to_vec(),
        ..Default::default()
    };
    request.encode_to_vec()
}

/// Proofs that hold for another certificate, another token or another code, and one that was used.
pub(super) async fn bad_proofs(shop: &Shop, burglar: &mut Burglar) {
    let certificate: [u8; 32] = Sha256::digest(&shop.authority).into();
    let typed = invited(shop, "van-c", false).typed.secret;
    let proof =
        |letters: &str, seen: &[u8; 32]| Key::of(letters, seen).device_proof(seen, &TOKEN_HASH);
    let good = proof(&typed, &certificate);
    let side = Key::of(&typed, &certificate).shop_proof(&certificate, &TOKEN_HASH, "");
    let other_letters = if typed == "0000000000" {
        "1111111111"
    } else {
        "0000000000"
    };
    let wrong = [
        shown(proof(&typed, &[2; 32]), TOKEN_HASH),
        shown(proof(other_letters, &certificate), TOKEN_HASH),
        shown(good, [6; 32]),
        shown(side, TOKEN_HASH),
        // The letters themselves are no secret of a code.
        pairing(&typed, 32, 1),
    ];
    for bytes in wrong {
        refused(shop, burglar, bytes, "CODE_UNKNOWN").await;
    }
    called(&burglar.channel, PAIR, &[], shown(good, TOKEN_HASH))
        .await
        .unwrap();
    refused(shop, burglar, shown(good, [7; 32]), "CODE_UNKNOWN").await;
    // Who has the answer of another may not take the code again once its time is over.
    shop.clock.shift(600);
    refused(shop, burglar, shown(good, TOKEN_HASH), "CODE_UNKNOWN").await;
    let late = invited(shop, "van-d", false).typed.secret;
    shop.clock.shift(600);
    let late = proof(&late, &certificate);
    refused(shop, burglar, shown(late, TOKEN_HASH), "CODE_EXPIRED").await;
}

async fn refused(shop: &Shop, burglar: &mut Burglar, bytes: Vec<u8>, reason: &str) {
    shop.clock.shift(PACE_S);
    let status = burglar.call(PAIR, &[], bytes).await;
    assert_told(&status, reason, "code_secret");
}

/// The laptop of a van was lost and another one has its name: the token of the first opens nothing any more.
pub(super) async fn a_name_paired_anew(shop: &Shop, burglar: &mut Burglar) {
    let first = shop.pair("tablet", Role::Work);
    shop.clock.shift(1);
    let again = invited(shop, "tablet", true).code.secret;
    called(&burglar.channel, PAIR, &[], pairing(&again, 32, 3))
        .await
        .unwrap();
    for path in [BOOK, "/fettlebook.v1.KitService/WashKit"] {
        shop.clock.shift(PACE_S);
        let status = burglar
            .call(path, &[&format!("Bearer {first}")], Vec::new())
            .await;
        assert_told(&status, "DEVICE_REVOKED", "");
    }
    refused(shop, burglar, pairing(&again, 32, 4), "CODE_USED").await;
}
