//! What was refused and is told again: it is what was shown, whatever the shop would pick by then. And what
//! comes without signal, with the tags that were shown for it.

use fettlebook_contract::call::Keepable;
use fettlebook_contract::v1::{
    Deed, DeedKind, Entry, GetPieceRequest, LogUseRequest, PickedPiece, ReceiveKitRequest,
    ReceiveKitResponse,
};
use prost::Message as _;
use tonic::Code;

use super::{session, van, wash_of, way};
use crate::outbox::{Line, Standing};
use crate::request;
use crate::shop::folder;
use crate::testing::{refusal, wait};
use crate::transport::keep::with_tags;

fn picked(tag: &str, step: &str) -> PickedPiece {
    PickedPiece {
        tag: tag.to_owned(),
        step: step.to_owned(),
        quantity: 1,
        ..PickedPiece::default()
    }
}

#[test]
fn a_parked_log_that_is_told_again_keeps_the_pieces_that_were_shown() {
    wait(async {
        let (shop, device) = van().await;
        shop.cut();
        let shown = vec![
            picked("P-07", "cut"),
            picked("P-31", "finish"),
            picked("B-03", ""),
        ];
        let log = LogUseRequest {
            request_id: request::new_id(),
            job: "saloon-thursday".to_owned(),
            picked: shown.clone(),
            ..LogUseRequest::default()
        };
        session(device).await.once(log.clone()).await.unwrap();
        let why = refusal(
            Code::FailedPrecondition,
            "JOB_UNKNOWN",
            "There is no such job.",
        );
        shop.memory()
            .refused
            .insert("saloon-thursday".to_owned(), why);
        shop.join();
        way(&session(device).await).begin().await;
        let parked = device.outbox().deed(1).unwrap().standing.clone();
        assert!(matches!(parked, Standing::Parked { .. }), "{parked:?}");

        shop.memory().refused.clear();
        let back = session(device).await;
        let mut outbox = way(&back).open_outbox().map_err(|_| "no outbox").unwrap();
        outbox.mark(&[Line::Again { number: 1 }]).unwrap();
        drop(outbox);
        way(&back).begin().await;
        assert_eq!(device.outbox().deed(1).unwrap().standing, Standing::Sent(1));
        let recorded = &shop.memory().recorded;
        let Keepable::LogUse(told) = &recorded[0].deed else {
            panic!("{:?}", recorded[0])
        };
        assert_eq!(
            (told.request_id.as_str(), &told.picked),
            (log.request_id.as_str(), &shown)
        );
    });
}

#[test]
fn what_comes_without_signal_is_kept_with_the_tags_that_were_shown_for_it() {
    let came = |tag: &str| Deed {
        kind: DeedKind::Received.into(),
        subject: tag.to_owned(),
        ..Deed::default()
    };
    let entry = Entry {
        deeds: vec![came("PA-01"), came("PA-02")],
        ..Entry::default()
    };
    let answer = ReceiveKitResponse {
        entry: Some(entry),
        ..ReceiveKitResponse::default()
    };
    let answer = answer.encode_to_vec().into();
    let receipt = |tags: &[&str]| {
        let receive = ReceiveKitRequest {
            make: "coarse-foam-150".to_owned(),
            piece_count: 2,
            tags: tags.iter().map(|&tag| tag.to_owned()).collect(),
            ..ReceiveKitRequest::default()
        };
        Keepable::ReceiveKit(receive.into())
    };
    let shown = with_tags(&receipt(&[]), &answer);
    assert_eq!(shown, Some(receipt(&["PA-01", "PA-02"])));
    assert_eq!(
        with_tags(&receipt(&["P-40"]), &answer),
        None,
        "as it was said"
    );
    assert_eq!(
        with_tags(&Keepable::WashKit(wash_of("P-01").into()), &answer),
        None
    );
}

/// A look says what the device is here, for the next command too, with signal or without.
#[test]
fn role_place_and_letter_are_heard_with_every_answer() {
    wait(async {
        let (shop, device) = van().await;
        let held = || folder::read(&device.folder()).unwrap();
        assert_eq!(
            session(device).await.place(),
            "",
            "nothing was said yet, and the book knows where"
        );
        shop.memory().says = ["look", "van-a", "B"].map(str::to_owned).to_vec();
        let looking = session(device).await;
        let asked = GetPieceRequest {
            tag: "B-03".to_owned(),
        };
        looking.once(asked).await.unwrap();
        assert_eq!(looking.place(), "van-a");
        looking.close().await;
        let told = (held().role, held().place, held().tag_letter);
        assert_eq!(
            told,
            ("look".to_owned(), "van-a".to_owned(), "B".to_owned())
        );
        assert_eq!(
            held().role_of_copy(),
            "work",
            "the copy is made anew for the other role"
        );
        shop.cut();
        let refused = session(device)
            .await
            .once(wash_of("P-01"))
            .await
            .unwrap_err();
        assert!(refused.message().contains("may only look"), "{refused}");
        assert_eq!(session(device).await.place(), "van-a");
    });
}
