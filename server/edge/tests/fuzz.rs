//! Whatever is sent to an rpc is answered or refused with a reason, and the book stays whole.
//!
//! Goal: no message, understood or not, breaks a handler or the writer off, and what was accepted is
//! in the journal as it is in the book. Method: a shop is sent a run of messages, made from the
//! contract's own description: sensible ones with fields changed, random ones, and bytes with bytes
//! changed. At the end the book is verified, which replays the journal; see `tests/fuzz`.

mod caller;
mod message;
mod values;

use std::cell::RefCell;
use std::collections::BTreeSet;
use std::time::{Duration, Instant};

use fettlebook_contract::v1;
use fettlebook_fuzz::drive;
use proptest::collection::vec;
use proptest::prelude::any;
use prost_reflect::MethodDescriptor;
use rand::{RngExt as _, SeedableRng as _};
use rand_chacha::ChaCha8Rng;
use tonic::Code;

use super::{World, fresh};
pub(super) use caller::Caller;
use message::Maker;

/// Shops of the quick form.
const SHOPS: u32 = 15;
/// Messages sent to one shop.
const MESSAGES_MAX: usize = 200;
/// No message may keep the service busy longer than this, on the slowest machine.
const TIME_MAX: Duration = Duration::from_secs(20);
/// Chances, in a hundred, that a message has bytes changed, and that time passes before it.
const SPOILT: u32 = 15;
const LATER: u32 = 25;

/// What came of all messages.
#[derive(Default)]
struct Seen {
    sent: u64,
    answered: BTreeSet<String>,
    entries: i64,
    slowest: (Duration, String),
}

/// Codes that no message may bring about: they say that the service is at fault.
fn is_fault(code: Code) -> bool {
    matches!(
        code,
        Code::Unknown
            | Code::Internal
            | Code::DataLoss
            | Code::Unavailable
            | Code::Cancelled
            | Code::DeadlineExceeded
            | Code::Unimplemented
    )
}

/// Orders something, so that there is something to come.
async fn order(world: &World) {
    let line = v1::OrderLine {
        make: "coarse-foam-150".to_owned(),
        pack_count: 3,
        ..Default::default()
    };
    let request = v1::CreateOrderRequest {
        request_id: fresh(),
        supplier: "tern-quay".to_owned(),
        lines: vec![line],
        ..Default::default()
    };
    world.supply().create_order(request).await.unwrap();
}

/// Sends one message to a shop: to which rpc and what, by its seed.
async fn send(world: &World, maker: &Maker, seed: u64, seen: &RefCell<Seen>) {
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    if rng.random_ratio(LATER, 100) {
        world.clock.shift(rng.random_range(0..30 * 3_600));
    }
    let method = maker.method(&mut rng);
    let message = maker.message(&method.input(), &mut rng);
    let mut bytes = prost::Message::encode_to_vec(&message);
    if rng.random_ratio(SPOILT, 100) {
        values::spoil(&mut bytes, &mut rng);
    }
    let start = Instant::now();
    let answer = Caller::new(world.service.channel())
        .call(method, bytes)
        .await;
    let took = start.elapsed();
    assert!(
        took < TIME_MAX,
        "{} took {took:?}: {message}",
        method.name()
    );
    let mut seen = seen.borrow_mut();
    seen.sent += 1;
    if took > seen.slowest.0 {
        seen.slowest = (took, format!("{}: {message}", method.name()));
    }
    match answer {
        Ok(bytes) => {
            let read = prost_reflect::DynamicMessage::decode(method.output(), bytes.as_slice());
            assert!(read.is_ok(), "{} answered what is no answer", method.name());
            seen.answered.insert(method.name().to_owned());
        }
        Err(status) => {
            let said = format!("{}: {status:?}: {message}", method.name());
            assert!(!is_fault(status.code()), "{said}");
            assert!(!status.details().is_empty(), "no reason: {said}");
        }
    }
}

/// The book is not read-only, and is what follows from its journal.
async fn assert_sound(world: &World, seen: &RefCell<Seen>) {
    let book = world.book().get_book(v1::GetBookRequest::default()).await;
    let book = book.unwrap().into_inner();
    assert_eq!(book.read_only_reason, "");
    let verified = world
        .book()
        .verify_book(v1::VerifyBookRequest::default())
        .await;
    let verified = verified.unwrap().into_inner();
    assert_eq!(verified.findings, Vec::<String>::new());
    assert_eq!(verified.entry_count, book.head_seq);
    seen.borrow_mut().entries += book.head_seq;
}

#[test]
fn fuzz_every_rpc_answers_or_refuses_with_a_reason() {
    let runtime = tokio::runtime::Builder::new_current_thread()
        .enable_all()
        .build()
        .unwrap();
    let (maker, seen) = (Maker::new(), RefCell::new(Seen::default()));
    let runs = vec(any::<u64>(), 1..MESSAGES_MAX);
    drive("rpc", &runs, SHOPS, |seeds| {
        runtime.block_on(async {
            let world = World::supplied().await;
            order(&world).await;
            for seed in seeds {
                send(&world, &maker, seed, &seen).await;
            }
            assert_sound(&world, &seen).await;
            world.service.close().await.unwrap();
        });
    });
    let seen = seen.into_inner();
    let (took, what) = &seen.slowest;
    eprintln!(
        "rpc: {} messages, {} of {} rpcs gave an answer, {} entries; slowest {took:?}: {:.300}",
        seen.sent,
        seen.answered.len(),
        maker.methods().len(),
        seen.entries,
        what
    );
    let never: Vec<&str> = (maker.methods().iter())
        .map(MethodDescriptor::name)
        .filter(|name| !seen.answered.contains(*name))
        .collect();
    assert!(
        never.len() * 4 < maker.methods().len(),
        "too few are reached: {never:?}"
    );
}
