//! Devices and codes in a cabinet: what is kept, for whom to read, and what ends when.

use std::fs;
use std::net::IpAddr;
use std::path::PathBuf;
use std::sync::Arc;

use fettlebook_contract::pairing::Key;
use fettlebook_model::Moment;
use uuid::Uuid;

use super::{
    Access, AccessError, Fingerprint, Invite, Role, SECRET_BYTES, ServiceNote, Token, invite,
    paired_count,
};
use crate::limits::LOCK_WAIT_MAX;
use crate::store::{Asked, Cabinet, Paper};
use crate::testing::stores::{FOLDER, Kind, ToldStore, on_every_store};

const BENCH: IpAddr = IpAddr::V4(std::net::Ipv4Addr::LOCALHOST);
const SECRET: [u8; SECRET_BYTES] = [7; SECRET_BYTES];

fn at(second: i64) -> Moment {
    Moment::from_second(1_780_000_000 + second).unwrap()
}

struct Shop {
    told: Box<dyn ToldStore>,
    book_id: Uuid,
}

impl Shop {
    fn on(kind: &Kind) -> Self {
        let (told, book_id) = ((kind.told)(), Uuid::now_v7());
        let begun = told.store().take(&Asked {
            new_book_id: book_id,
            now: at(0),
            wait: LOCK_WAIT_MAX,
            mid_move: false,
        });
        drop(begun.unwrap());
        Self { told, book_id }
    }

    fn cabinet(&self) -> Arc<dyn Cabinet> {
        self.told.store().cabinet()
    }

    fn open(&self) -> Access {
        let note = ServiceNote::new("192.0.2.7:7420".parse().unwrap(), Fingerprint([1; 32]));
        Access::open(self.cabinet(), self.book_id, &note).unwrap()
    }

    fn text(&self, paper: Paper) -> String {
        String::from_utf8(self.cabinet().read(paper).unwrap().unwrap()).unwrap()
    }

    /// The cabinet of a book in a folder.
    fn folder(&self) -> PathBuf {
        self.told.folder().unwrap().join("access")
    }
}

fn asked(name: &str, role: Role) -> Invite {
    Invite {
        name: name.parse().unwrap(),
        role,
        by: "local".to_owned(),
        at: None,
        again: false,
        office: None,
    }
}

fn paired(access: &Access, name: &str, secret: u8) -> Token {
    let code = access.invite(&asked(name, Role::Work), at(0)).unwrap().code;
    let paired = access.pair(&code.secret, [secret; SECRET_BYTES], BENCH, at(1));
    paired.unwrap().token
}

fn admit(access: &Access, token: &Token, second: i64) -> Result<Role, AccessError> {
    let admitted = access.admit(Ok(&token.to_string()), BENCH, at(second))?;
    Ok(admitted.role)
}

fn a_device_is_let_in_from_then_on_and_after_a_restart(kind: &Kind) {
    let shop = Shop::on(kind);
    let access = shop.open();
    let token = paired(&access, "van-a", 7);
    assert_eq!(admit(&access, &token, 2), Ok(Role::Work));
    access.save_used().unwrap();
    drop(access);
    let access = shop.open();
    assert_eq!(admit(&access, &token, 3), Ok(Role::Work));
    let devices = access.devices();
    assert_eq!(devices[0].used_at, Some(at(-40)), "to the minute");
    assert_eq!(devices[0].invited_by, "local");
    assert_eq!(paired_count(&*shop.cabinet()), Ok(1));
}

fn nothing_on_the_disk_lets_anyone_in(kind: &Kind) {
    let shop = Shop::on(kind);
    let access = shop.open();
    let code = access
        .invite(&asked("van-a", Role::Work), at(0))
        .unwrap()
        .code;
    let token = access
        .pair(&code.secret, SECRET, BENCH, at(1))
        .unwrap()
        .token;
    let token = token.to_string();
    let secret = token.rsplit('.').next().unwrap();
    for paper in [Paper::Devices, Paper::Codes, Paper::Service] {
        let text = shop.text(paper);
        let hex = data_encoding::HEXLOWER.encode(&SECRET);
        for word in [secret, &hex, &code.secret] {
            assert!(!text.contains(word), "{paper:?} has {word}");
        }
    }
}

#[cfg(unix)]
#[test]
fn only_the_owner_may_read_it() {
    use std::os::unix::fs::PermissionsExt as _;
    let shop = Shop::on(&FOLDER);
    let folder = shop.folder();
    fs::create_dir(&folder).unwrap();
    fs::set_permissions(&folder, fs::Permissions::from_mode(0o777)).unwrap();
    super::Credentials::own(&*shop.cabinet(), &[], at(0)).unwrap();
    let access = shop.open();
    paired(&access, "van-a", 7);
    let mode = |path: &std::path::Path| fs::metadata(path).unwrap().permissions().mode() & 0o777;
    assert_eq!(mode(&folder), 0o700);
    let mut files = 0;
    for entry in fs::read_dir(&folder).unwrap() {
        let path = entry.unwrap().path();
        assert_eq!(mode(&path), 0o600, "{}", path.display());
        files += 1;
    }
    assert_eq!(files, 8);
}

fn a_lost_answer_is_given_again_and_nobody_else_uses_the_code(kind: &Kind) {
    let shop = Shop::on(kind);
    let access = shop.open();
    let code = access
        .invite(&asked("van-a", Role::Work), at(0))
        .unwrap()
        .code;
    let first = access.pair(&code.secret, SECRET, BENCH, at(1)).unwrap();
    let lower = code.secret.to_lowercase();
    let again = access.pair(&lower, SECRET, BENCH, at(599)).unwrap();
    assert_eq!(first.token, again.token);
    let name = first.device.name.clone();
    let used = AccessError::CodeUsed { name };
    let other = access.pair(&code.secret, [8; 32], BENCH, at(2));
    assert_eq!(other.unwrap_err(), used);
    let late = access.pair(&code.secret, SECRET, BENCH, at(600));
    assert_eq!(late.unwrap_err(), used);
    access.revoke(&first.device.name, "local", at(3)).unwrap();
    let back = access.pair(&code.secret, SECRET, BENCH, at(4));
    assert_eq!(back.unwrap_err(), used);
    assert_eq!(access.devices().len(), 1);
}

/// The story: the service is killed after the device is written and before the code is.
fn a_pairing_that_was_cut_off_in_the_middle_is_finished_by_the_same_device_only(kind: &Kind) {
    let shop = Shop::on(kind);
    let access = shop.open();
    let code = access
        .invite(&asked("van-a", Role::Work), at(0))
        .unwrap()
        .code;
    let codes = shop.text(Paper::Codes);
    let first = access.pair(&code.secret, SECRET, BENCH, at(1)).unwrap();
    shop.cabinet()
        .write(Paper::Codes, codes.as_bytes())
        .unwrap();
    let other = access.pair(&code.secret, [8; 32], BENCH, at(2));
    assert!(
        matches!(other, Err(AccessError::CodeUsed { .. })),
        "{other:?}"
    );
    let again = access.pair(&code.secret, SECRET, BENCH, at(3)).unwrap();
    assert_eq!(first.token, again.token);
    assert_eq!(access.devices().len(), 1);
}

fn a_code_ends_after_ten_minutes(kind: &Kind) {
    let shop = Shop::on(kind);
    let access = shop.open();
    let made = access.invite(&asked("van-a", Role::Work), at(0)).unwrap();
    assert_eq!(made.expires_at, at(600));
    let late = access.pair(&made.code.secret, SECRET, BENCH, at(600));
    assert!(
        matches!(late, Err(AccessError::CodeExpired { .. })),
        "{late:?}"
    );
    let wrong = access.pair("ABCDEFGHIJ234567", SECRET, BENCH, at(600));
    assert_eq!(wrong.unwrap_err(), AccessError::CodeUnknown);
    let forgotten = access.pair(&made.code.secret, SECRET, BENCH, at(601 + 24 * 3_600));
    assert!(forgotten.is_err());
    access
        .invite(&asked("van-b", Role::Work), at(25 * 3_600))
        .unwrap();
    assert!(!shop.text(Paper::Codes).contains("van-a"));
}

fn a_wrong_secret_ends_no_code_whoever_tries_it_and_however_often(kind: &Kind) {
    let shop = Shop::on(kind);
    let access = shop.open();
    let made = access.invite(&asked("van-a", Role::Work), at(0)).unwrap();
    let neighbour = [192, 0, 2, 66].into();
    for second in 1..=9 {
        for from in [neighbour, BENCH] {
            let wrong = access.pair("ABCDEFGHIJ234567", SECRET, from, at(second));
            assert_eq!(wrong.unwrap_err(), AccessError::CodeUnknown);
            let wrong = access.pair_by_proof([9; 32], [8; 32], [192, 0, 2, 9].into(), at(second));
            assert!(wrong.is_err());
        }
    }
    access
        .pair(&made.code.secret, SECRET, BENCH, at(10))
        .unwrap();
}

/// Fifty bits are out of reach only while whoever guesses has to wait, by secrets and proofs alike.
fn the_eleventh_wrong_code_in_a_minute_is_not_looked_at(kind: &Kind) {
    let shop = Shop::on(kind);
    let access = shop.open();
    let made = access.invite(&asked("van-a", Role::Work), at(0)).unwrap();
    for turn in 0..10 {
        let guessed = if turn % 2 == 0 {
            let guess = access.pair("ABCDEFGHIJ234567", SECRET, BENCH, at(1));
            guess.map(drop)
        } else {
            let guess = access.pair_by_proof([9; 32], [5; 32], BENCH, at(1));
            guess.map(drop)
        };
        assert_eq!(guessed.unwrap_err(), AccessError::CodeUnknown);
    }
    let secret = &made.code.secret;
    let too_soon = access.pair(secret, SECRET, BENCH, at(2));
    assert!(matches!(too_soon, Err(AccessError::TriesUsedUp { .. })));
    access.pair(secret, SECRET, BENCH, at(61)).unwrap();
}

/// Source: the contract's `pairing`, by which a device makes the proof.
fn a_typed_code_lets_one_device_in_by_a_proof_and_its_letters_stand_nowhere(kind: &Kind) {
    let shop = Shop::on(kind);
    let access = shop.open();
    let made = access.invite(&asked("van-a", Role::Work), at(0)).unwrap();
    assert_eq!(
        (made.typed.host.as_str(), made.typed.port),
        ("192.0.2.7", 7420)
    );
    assert!(!shop.text(Paper::Codes).contains(&made.typed.secret));
    let (seen, hash) = ([1; 32], [5; 32]);
    let key = Key::of(&made.typed.secret, &seen);
    let proof = key.device_proof(&seen, &hash);
    // Whoever stands between shows another certificate; what he hears holds for that one alone.
    let other = Key::of(&made.typed.secret, &[2; 32]).device_proof(&[2; 32], &hash);
    let refused = access.pair_by_proof(other, hash, BENCH, at(1));
    assert_eq!(refused.unwrap_err(), AccessError::CodeUnknown);
    let refused = access.pair_by_proof(proof, [6; 32], BENCH, at(1));
    assert_eq!(
        refused.unwrap_err(),
        AccessError::CodeUnknown,
        "a proof is for one token"
    );
    let paired = access.pair_by_proof(proof, hash, BENCH, at(2)).unwrap();
    let start = &paired.token_start;
    assert_eq!(paired.shop_proof, key.shop_proof(&seen, &hash, start));
    assert_eq!(paired.device.name.as_str(), "van-a");
    assert!(
        !shop.text(Paper::Codes).contains("\"typed\""),
        "the key goes with its use"
    );
    let late = access.pair_by_proof(proof, hash, BENCH, at(3));
    assert_eq!(late.unwrap_err(), AccessError::CodeUnknown);
}

fn the_token_of_a_device_that_proved_itself_is_its_own_secret(kind: &Kind) {
    let shop = Shop::on(kind);
    let access = shop.open();
    let made = access.invite(&asked("van-a", Role::Work), at(0)).unwrap();
    let hash: [u8; 32] = <sha2::Sha256 as sha2::Digest>::digest(SECRET).into();
    let key = Key::of(&made.typed.secret, &[1; 32]);
    let paired = access
        .pair_by_proof(key.device_proof(&[1; 32], &hash), hash, BENCH, at(1))
        .unwrap();
    let secret = data_encoding::BASE64URL_NOPAD.encode(&SECRET);
    let token = format!("{}{secret}", paired.token_start).parse().unwrap();
    assert_eq!(admit(&access, &token, 2), Ok(Role::Work));
}

/// The story: the laptop of a van was lost; another one becomes van-a.
fn a_name_is_paired_anew_where_that_is_wanted_and_whoever_had_it_is_out(kind: &Kind) {
    let shop = Shop::on(kind);
    let access = shop.open();
    let lost = paired(&access, "van-a", 7);
    let again = Invite {
        again: true,
        ..asked("van-a", Role::Keep)
    };
    let made = access.invite(&again, at(2)).unwrap();
    assert_eq!(
        admit(&access, &lost, 3),
        Ok(Role::Work),
        "until the code is used"
    );
    let found = access
        .pair(&made.code.secret, [9; 32], BENCH, at(4))
        .unwrap();
    let name = found.device.name.clone();
    let out = AccessError::DeviceRevoked { name: name.clone() };
    assert_eq!(admit(&access, &lost, 5), Err(out.clone()));
    assert_eq!(admit(&access, &found.token, 5), Ok(Role::Keep));
    let other = access.pair(&made.code.secret, [10; 32], BENCH, at(5));
    assert!(
        matches!(other, Err(AccessError::CodeUsed { .. })),
        "{other:?}"
    );
    drop(access);
    let access = shop.open();
    assert_eq!(admit(&access, &lost, 6), Err(out));
    let listed = access.devices();
    assert_eq!(listed.len(), 1, "one line a name");
    assert!(!listed[0].is_revoked());
    access.set_role(&name, Role::Look).unwrap();
    assert_eq!(admit(&access, &found.token, 7), Ok(Role::Look));
    access.revoke(&name, "bench", at(8)).unwrap();
    assert_eq!(paired_count(&*shop.cabinet()), Ok(0));
    let back = access.invite(
        &Invite {
            again: true,
            ..asked("van-a", Role::Work)
        },
        at(9),
    );
    access
        .pair(&back.unwrap().code.secret, [11; 32], BENCH, at(10))
        .unwrap();
    assert_eq!(paired_count(&*shop.cabinet()), Ok(1));
}

/// Killed between the device and the code, nobody else may use the code.
fn a_name_that_was_being_paired_anew_is_finished_by_the_same_device_only(kind: &Kind) {
    let shop = Shop::on(kind);
    let access = shop.open();
    paired(&access, "van-a", 7);
    let again = Invite {
        again: true,
        ..asked("van-a", Role::Work)
    };
    let code = access.invite(&again, at(2)).unwrap().code;
    let codes = shop.text(Paper::Codes);
    let first = access.pair(&code.secret, [9; 32], BENCH, at(3)).unwrap();
    shop.cabinet()
        .write(Paper::Codes, codes.as_bytes())
        .unwrap();
    let other = access.pair(&code.secret, [10; 32], BENCH, at(4));
    assert!(
        matches!(other, Err(AccessError::CodeUsed { .. })),
        "{other:?}"
    );
    let same = access.pair(&code.secret, [9; 32], BENCH, at(5)).unwrap();
    assert_eq!(first.token, same.token);
}

fn an_open_code_for_an_owner_is_somebody_who_could_come_in(kind: &Kind) {
    let shop = Shop::on(kind);
    let lets = |second| super::lets_an_owner_in(&*shop.cabinet(), at(second)).unwrap();
    assert!(!lets(0));
    invite(&*shop.cabinet(), &asked("van-a", Role::Keep), at(0)).unwrap();
    assert!(!lets(0));
    invite(&*shop.cabinet(), &asked("bench", Role::Own), at(0)).unwrap();
    assert!(lets(599) && !lets(600));
}

/// A shop that nobody owns could only be got at from the machine it runs on.
fn the_only_device_that_owns_the_shop_keeps_doing_so(kind: &Kind) {
    let shop = Shop::on(kind);
    let access = shop.open();
    let pair = |name: &str, role, byte| {
        let made = access.invite(&asked(name, role), at(0)).unwrap();
        let paired = access.pair(&made.code.secret, [byte; 32], BENCH, at(1));
        paired.unwrap().device.name
    };
    let (bench, desk) = (pair("bench", Role::Own, 1), pair("desk", Role::Keep, 2));
    let last = AccessError::LastOwner {
        name: bench.clone(),
    };
    for role in [Role::Look, Role::Work, Role::Keep] {
        let lowered = access.set_role(&bench, role);
        assert_eq!(lowered.unwrap_err(), last);
    }
    let revoked = access.revoke(&bench, "bench", at(2));
    assert_eq!(revoked.unwrap_err(), last);
    assert_eq!(access.set_role(&bench, Role::Own).unwrap().role, Role::Own);
    access.set_role(&desk, Role::Own).unwrap();
    access.revoke(&bench, "desk", at(3)).unwrap();
    let last = AccessError::LastOwner { name: desk.clone() };
    assert_eq!(access.set_role(&desk, Role::Keep).unwrap_err(), last);
    assert_eq!(paired_count(&*shop.cabinet()), Ok(1));
}

fn a_name_is_given_once_and_a_new_code_for_it_ends_the_one_before(kind: &Kind) {
    let shop = Shop::on(kind);
    let access = shop.open();
    let lost = access
        .invite(&asked("van-a", Role::Work), at(0))
        .unwrap()
        .code;
    let found = access
        .invite(&asked("van-a", Role::Look), at(1))
        .unwrap()
        .code;
    let refused = access.pair(&lost.secret, SECRET, BENCH, at(2));
    assert_eq!(refused.unwrap_err(), AccessError::CodeUnknown);
    let device = access
        .pair(&found.secret, SECRET, BENCH, at(3))
        .unwrap()
        .device;
    assert_eq!(device.role, Role::Look);
    access.revoke(&device.name, "local", at(4)).unwrap();
    let taken = |second| {
        let taken = access.invite(&asked("van-a", Role::Own), at(second));
        assert!(
            matches!(taken, Err(AccessError::NameTaken { .. })),
            "{taken:?}"
        );
    };
    taken(5);
    let later = 100_000;
    access
        .invite(&asked("van-b", Role::Own), at(later))
        .unwrap();
    assert!(
        !shop.text(Paper::Codes).contains("van-a"),
        "the code is forgotten"
    );
    taken(later);
    let kept = access.invite(&asked("solo", Role::Own), at(6));
    assert!(
        matches!(kept, Err(AccessError::NameKept { .. })),
        "{kept:?}"
    );
}

fn a_role_and_a_revocation_count_from_the_next_request_on(kind: &Kind) {
    let shop = Shop::on(kind);
    let access = shop.open();
    let token = paired(&access, "van-a", 7);
    let name = "van-a".parse().unwrap();
    access.set_role(&name, Role::Keep).unwrap();
    assert_eq!(admit(&access, &token, 2), Ok(Role::Keep));
    let revoked = access.revoke(&name, "bench", at(3)).unwrap();
    assert_eq!(
        (revoked.revoked_at, revoked.revoked_by.as_deref()),
        (Some(at(3)), Some("bench"))
    );
    let shut_out = Err(AccessError::DeviceRevoked { name: name.clone() });
    assert_eq!(admit(&access, &token, 4), shut_out);
    let again = access.revoke(&name, "van-b", at(9)).unwrap();
    assert_eq!(again.revoked_by.as_deref(), Some("bench"));
    let gone = AccessError::DeviceGone { name: name.clone() };
    assert_eq!(access.set_role(&name, Role::Own).unwrap_err(), gone);
    drop(access);
    assert_eq!(admit(&shop.open(), &token, 5), shut_out);
    assert_eq!(paired_count(&*shop.cabinet()), Ok(0));
}

fn only_who_has_the_right_secret_hears_that_a_device_was_revoked(kind: &Kind) {
    let shop = Shop::on(kind);
    let access = shop.open();
    let token = paired(&access, "van-a", 7);
    access
        .revoke(&"van-a".parse().unwrap(), "local", at(2))
        .unwrap();
    let guess = Token {
        secret: [9; SECRET_BYTES],
        ..token.clone()
    };
    assert_eq!(admit(&access, &guess, 3), Err(AccessError::TokenUnknown));
    let other = Token {
        book_id: Uuid::now_v7(),
        ..token
    };
    assert_eq!(admit(&access, &other, 3), Err(AccessError::TokenOtherBook));
}

fn whoever_guesses_is_not_looked_at_for_a_while_and_a_good_token_always_passes(kind: &Kind) {
    let shop = Shop::on(kind);
    let access = shop.open();
    let token = paired(&access, "van-a", 7);
    let code = access
        .invite(&asked("van-b", Role::Work), at(0))
        .unwrap()
        .code;
    for _ in 0..10 {
        let refused = access.admit(Ok("x"), BENCH, at(2)).unwrap_err();
        assert_eq!(refused, AccessError::TokenUnknown);
    }
    let refused = access.admit(Err(AccessError::TokenMissing), BENCH, at(3));
    assert!(
        matches!(refused, Err(AccessError::TriesUsedUp { .. })),
        "{refused:?}"
    );
    let pairing = access.pair(&code.secret, SECRET, BENCH, at(3));
    assert!(
        matches!(pairing, Err(AccessError::TriesUsedUp { .. })),
        "{pairing:?}"
    );
    assert_eq!(admit(&access, &token, 4), Ok(Role::Work));
    access.pair(&code.secret, SECRET, BENCH, at(62)).unwrap();
}

/// Whoever pairs may be anybody. What else they try while the files are spoilt counts.
fn a_stranger_is_not_told_which_file_is_spoilt_and_the_try_counts(kind: &Kind) {
    let shop = Shop::on(kind);
    let access = shop.open();
    shop.cabinet().write(Paper::Codes, b"{").unwrap();
    for second in 0..10 {
        let failed = access.pair("ABCDEFGHIJ234567", SECRET, BENCH, at(second));
        assert_eq!(failed.unwrap_err(), AccessError::PairingFailed, "{second}");
    }
    let failed = access.pair("ABCDEFGHIJ234567", SECRET, BENCH, at(10));
    assert!(
        matches!(failed, Err(AccessError::TriesUsedUp { .. })),
        "{failed:?}"
    );
    let owner = access.invite(&asked("van-a", Role::Work), at(11));
    let spoilt = shop.cabinet().place(Paper::Codes);
    assert!(owner.unwrap_err().told().contains(&spoilt));
}

fn a_code_made_beside_a_running_service_works_in_it(kind: &Kind) {
    let shop = Shop::on(kind);
    let before = invite(&*shop.cabinet(), &asked("bench", Role::Own), at(0)).unwrap();
    assert_eq!(before.code.address, "127.0.0.1:7420");
    let access = shop.open();
    let code = invite(&*shop.cabinet(), &asked("van-a", Role::Own), at(0))
        .unwrap()
        .code;
    assert_eq!(code.address, "192.0.2.7:7420");
    assert_eq!(code.fingerprint, Fingerprint([1; 32]));
    access.pair(&code.secret, SECRET, BENCH, at(1)).unwrap();
    access
        .pair(&before.code.secret, SECRET, BENCH, at(1))
        .unwrap();
    let named = Invite {
        at: Some("bench.example:443".to_owned()),
        ..asked("van-b", Role::Look)
    };
    let code = invite(&*shop.cabinet(), &named, at(2)).unwrap().code;
    assert_eq!(code.address, "bench.example:443");
}

fn codes_made_at_once_by_many_are_all_there(kind: &Kind) {
    let shop = Shop::on(kind);
    let access = shop.open();
    let cabinet = &shop.cabinet();
    std::thread::scope(|scope| {
        for number in 0..16 {
            scope.spawn(move || {
                invite(
                    &**cabinet,
                    &asked(&format!("van-{number}"), Role::Work),
                    at(0),
                )
                .unwrap()
            });
        }
    });
    let made = shop.text(Paper::Codes);
    for number in 0..16 {
        assert!(made.contains(&format!("\"van-{number}\"")), "{made}");
    }
    drop(access);
}

fn files_that_are_spoilt_let_nobody_in_and_say_which(kind: &Kind) {
    let shop = Shop::on(kind);
    paired(&shop.open(), "van-a", 7);
    let note = ServiceNote::new("127.0.0.1:1".parse().unwrap(), Fingerprint([1; 32]));
    let good = shop.text(Paper::Devices);
    for bad in [
        "{}",
        &good[..good.len() / 2],
        &good.replacen("\"format\": 1", "\"format\": 2", 1),
    ] {
        let cabinet = shop.cabinet();
        cabinet.write(Paper::Devices, bad.as_bytes()).unwrap();
        match Access::open(cabinet, shop.book_id, &note) {
            Err(error) => assert!(error.told().contains("devices.json"), "{error}"),
            // An engine keeps an empty paper of a book that left it: there is none then.
            Ok(access) => assert!(
                bad.is_empty() && kind.breaking.is_none() && access.devices().is_empty(),
                "{bad}"
            ),
        }
    }
    let cabinet = shop.cabinet();
    cabinet.write(Paper::Devices, b"").unwrap();
    match Access::open(cabinet, shop.book_id, &note) {
        Ok(access) => assert!(kind.empty_is_none && access.devices().is_empty()),
        Err(error) => assert!(!kind.empty_is_none && error.told().contains("devices.json")),
    }
}

on_every_store!(
    a_device_is_let_in_from_then_on_and_after_a_restart,
    nothing_on_the_disk_lets_anyone_in,
    a_lost_answer_is_given_again_and_nobody_else_uses_the_code,
    a_code_ends_after_ten_minutes,
    a_wrong_secret_ends_no_code_whoever_tries_it_and_however_often,
    the_eleventh_wrong_code_in_a_minute_is_not_looked_at,
    a_typed_code_lets_one_device_in_by_a_proof_and_its_letters_stand_nowhere,
    the_token_of_a_device_that_proved_itself_is_its_own_secret,
    a_name_is_paired_anew_where_that_is_wanted_and_whoever_had_it_is_out,
    an_open_code_for_an_owner_is_somebody_who_could_come_in,
    the_only_device_that_owns_the_shop_keeps_doing_so,
    a_name_is_given_once_and_a_new_code_for_it_ends_the_one_before,
    a_role_and_a_revocation_count_from_the_next_request_on,
    only_who_has_the_right_secret_hears_that_a_device_was_revoked,
    whoever_guesses_is_not_looked_at_for_a_while_and_a_good_token_always_passes,
    a_code_made_beside_a_running_service_works_in_it,
    codes_made_at_once_by_many_are_all_there,
    a_pairing_that_was_cut_off_in_the_middle_is_finished_by_the_same_device_only,
    a_name_that_was_being_paired_anew_is_finished_by_the_same_device_only,
    a_stranger_is_not_told_which_file_is_spoilt_and_the_try_counts,
    files_that_are_spoilt_let_nobody_in_and_say_which,
);
