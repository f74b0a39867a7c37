//! Anything in any order, on a disk that fails and a clock that jumps: the book is what was
//! acknowledged, and nothing else.
//!
//! Random orders, retries, reversals, bursts, faults, losses of power, restarts, lost shelves and
//! jumps of the clock are given to a real desk. After each step what the desk says is compared with a
//! plain model: a list of acts in the order in which they were recorded, added up by hand; and
//! verifying must find that shelf, book and journal agree.

use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::marker::PhantomData;
use std::sync::Arc;

use fettlebook_model::{Command, Entry, Seq};
use proptest::prelude::*;
use proptest::test_runner::Config;
use proptest_state_machine::{ReferenceStateMachine, StateMachineTest, prop_state_machine};
use uuid::Uuid;

use crate::desk::{Desk, DeskError, DeskOptions, Order};
use crate::testing::faulty::{FAULTS, Fault};
use crate::testing::stores::{BreakingStore, InFolder, Kind, Row};
use crate::testing::{TestClock, count_gloves, gloves, new_car, order, reverse};

/// What may be done.
#[derive(Debug, Clone)]
enum Step {
    Count(i64),
    Car(u8),
    /// Takes back an earlier entry, the place given as a share of all.
    Reverse(u8),
    /// Sends an earlier order again.
    Retry(u8),
    /// Sends another command under an earlier request id.
    Reuse(u8),
    /// Moves the clock, either way.
    Jump(i64),
    /// Ends and starts again; perhaps the shelf is gone meanwhile.
    Restart {
        lose_shelf: bool,
    },
    /// Gives some orders at once to a disk that fails at an operation.
    Burst {
        orders: u8,
        operation: u64,
        fault: Fault,
    },
}

/// What a run is made from: steps make sense in any state, so the state is only how many came.
struct Steps;

impl ReferenceStateMachine for Steps {
    type State = usize;
    type Transition = Step;

    fn init_state() -> BoxedStrategy<usize> {
        Just(0).boxed()
    }

    fn transitions(_: &usize) -> BoxedStrategy<Step> {
        prop_oneof![
            4 => (0..60_i64).prop_map(Step::Count),
            2 => (0..12_u8).prop_map(Step::Car),
            3 => any::<u8>().prop_map(Step::Reverse),
            2 => any::<u8>().prop_map(Step::Retry),
            1 => any::<u8>().prop_map(Step::Reuse),
            1 => (-90_000..90_000_i64).prop_map(Step::Jump),
            1 => any::<bool>().prop_map(|lose_shelf| Step::Restart { lose_shelf }),
            3 => (1..12_u8, 0..14_u64, 0..FAULTS.len()).prop_map(|(orders, operation, fault)| {
                Step::Burst { orders, operation, fault: FAULTS[fault] }
            }),
        ]
        .boxed()
    }

    fn apply(count: usize, _: &Step) -> usize {
        count + 1
    }
}

/// What an acknowledged order does, as the plain model sees it.
#[derive(Debug, Clone, PartialEq)]
enum Act {
    Other,
    Count(i64),
    Car(String),
    Reverse(u64),
}

fn act_of(command: &Command) -> Act {
    match command {
        Command::Count { count, .. } => Act::Count(count.quantity.unwrap_or_default()),
        Command::CreateCar { car } => Act::Car(car.id.to_string()),
        Command::Reverse { seq, .. } => Act::Reverse(seq.0),
        _ => Act::Other,
    }
}

/// A desk under test, and everything that was given to it.
struct World {
    runtime: tokio::runtime::Runtime,
    broken: Box<dyn BreakingStore>,
    clock: Arc<TestClock>,
    options: DeskOptions,
    desk: Option<Desk>,
    orders: Vec<Order>,
    /// What was acknowledged, by request.
    answers: HashMap<Uuid, Arc<Entry>>,
}

impl World {
    fn new(kind: &Kind) -> Self {
        let clock = TestClock::at("2026-03-02T08:00:00Z");
        let options = DeskOptions::new(Arc::clone(&clock) as _, Uuid::now_v7());
        let runtime = tokio::runtime::Builder::new_current_thread();
        let mut world = Self {
            runtime: { runtime }.enable_all().build().unwrap(),
            broken: kind.breaking.unwrap()(7, 4_000),
            clock,
            options,
            desk: None,
            orders: Vec::new(),
            answers: HashMap::new(),
        };
        world.open();
        for command in gloves() {
            world.give(order(command)).unwrap();
        }
        world
    }

    fn open(&mut self) {
        let (desk, report) = Desk::open(self.broken.store(), &self.options).unwrap();
        assert_eq!(report.read_only, None);
        self.desk = Some(desk);
    }

    fn desk(&self) -> &Desk {
        self.desk.as_ref().unwrap()
    }

    fn close(&mut self) {
        let desk = self.desk.take().unwrap();
        self.runtime.block_on(desk.close()).unwrap();
    }

    /// Gives an order and remembers it; what is acknowledged must stay so.
    fn give(&mut self, order: Order) -> Result<Arc<Entry>, DeskError> {
        let answer = self.runtime.block_on(self.desk().submit(order.clone()));
        self.remember(order, answer)
    }

    fn remember(
        &mut self,
        order: Order,
        answer: Result<Arc<Entry>, DeskError>,
    ) -> Result<Arc<Entry>, DeskError> {
        if let Ok(entry) = &answer {
            let first = self
                .answers
                .entry(order.request)
                .or_insert_with(|| Arc::clone(entry));
            assert_eq!(first, entry, "a retry gets the first answer again");
        }
        if !self
            .orders
            .iter()
            .any(|known| known.request == order.request)
        {
            self.orders.push(order);
        }
        answer
    }

    fn earlier(&self, share: u8) -> Order {
        self.orders[usize::from(share) * self.orders.len() / 256].clone()
    }

    /// Orders given at once to a disk that fails; then the machine starts anew, and whoever was not
    /// answered asks again.
    fn burst(&mut self, count: u8, operation: u64, fault: Fault) {
        let orders: Vec<Order> = (0..count)
            .map(|n| match n % 3 {
                0 => order(new_car(&format!("burst-{}-{n}", self.orders.len()))),
                1 => order(reverse(self.desk().book().head().0)),
                _ => order(count_gloves(i64::from(n))),
            })
            .collect();
        self.broken.fail_after(operation, fault);
        let desk = self.desk().clone();
        let answers = self.runtime.block_on(async {
            let given = orders.iter().map(|order| {
                let (desk, order) = (desk.clone(), order.clone());
                tokio::spawn(async move { desk.submit(order).await })
            });
            let given: Vec<_> = given.collect();
            let mut answers = Vec::new();
            for one in given {
                answers.push(one.await.unwrap());
            }
            answers
        });
        drop(desk);
        let mut unanswered = Vec::new();
        for (order, answer) in orders.into_iter().zip(answers) {
            let refused = matches!(answer, Err(DeskError::Refused(_)));
            if self.remember(order.clone(), answer).is_err() && !refused {
                unanswered.push(order);
            }
        }
        // The power goes with a fault that did not come, or left the process alive.
        self.broken.fail_after(0, Fault::PowerLoss);
        let _ = self.give(order(count_gloves(1)));
        self.close();
        self.broken.recover();
        self.open();
        for order in unanswered {
            let again = self.give(order);
            assert!(
                matches!(again, Ok(_) | Err(DeskError::Refused(_))),
                "{again:?}"
            );
        }
    }

    /// The entries as they were recorded, each an act of the plain model.
    fn recorded(&self) -> Vec<Entry> {
        let reading = self.desk().entries(None, false, None, 1000);
        self.runtime.block_on(reading).unwrap()
    }

    /// What the desk says is what the plain model adds up to.
    fn assert_agrees(&self) {
        let verified = self.runtime.block_on(self.desk().verify()).unwrap();
        assert_eq!(verified.findings, Vec::<String>::new());
        let entries = self.recorded();
        assert_eq!(entries.len() as u64, verified.entry_count);
        let mut acts = BTreeMap::new();
        for entry in &entries {
            let order = self
                .orders
                .iter()
                .find(|order| order.request == entry.request);
            let order = order.expect("an entry that nobody ordered");
            assert!(acts.insert(entry.seq.0, act_of(&order.command)).is_none());
        }
        let requests: BTreeSet<Uuid> = entries.iter().map(|entry| entry.request).collect();
        assert_eq!(requests.len(), entries.len(), "an order was counted twice");
        for entry in self.answers.values() {
            assert_eq!(
                entries.get(entry.seq.0 as usize - 1),
                Some(&**entry),
                "it was acknowledged"
            );
        }
        let taken_back: BTreeSet<u64> = acts
            .values()
            .filter_map(|act| {
                if let Act::Reverse(seq) = act {
                    Some(*seq)
                } else {
                    None
                }
            })
            .collect();
        let stands = |seq: &u64| !taken_back.contains(seq);
        let mut cars = BTreeSet::new();
        // The newest count by when it was done stands, however the clock went.
        let mut newest = None;
        for (seq, act) in acts.iter().filter(|(seq, _)| stands(seq)) {
            match act {
                Act::Car(id) => drop(cars.insert(id.clone())),
                Act::Count(count) => {
                    let done_at = entries[*seq as usize - 1].done_at;
                    newest = newest.max(Some((done_at, *seq, *count)));
                }
                Act::Reverse(_) | Act::Other => {}
            }
        }
        let book = self.desk().book();
        let known: BTreeSet<String> = book.cars().map(|car| car.id.to_string()).collect();
        assert_eq!(known, cars);
        if stands(&2) {
            let gloves = book.piece("S-01".parse().unwrap()).unwrap();
            assert_eq!(gloves_left(gloves), newest.map_or(50, |(_, _, left)| left));
        }
    }
}

fn gloves_left(piece: &fettlebook_model::kit::Piece) -> i64 {
    match &piece.state {
        fettlebook_model::kit::State::Sundry(sundry) => sundry.left_quantity,
        other => panic!("{other:?} are no gloves"),
    }
}

/// The machine on a kind of store.
struct Machine<R>(PhantomData<R>);

impl<R: Row> StateMachineTest for Machine<R> {
    type SystemUnderTest = World;
    type Reference = Steps;

    fn init_test(_: &usize) -> World {
        World::new(R::KIND)
    }

    fn apply(mut world: World, _: &usize, step: Step) -> World {
        let before = world.desk().book().head();
        match step {
            Step::Count(left) => {
                let counted = world.give(order(count_gloves(left)));
                let taken = u64::from(counted.is_ok());
                assert_eq!(world.desk().book().head().0, before.0 + taken);
            }
            Step::Car(n) => drop(world.give(order(new_car(&format!("car-{n}"))))),
            Step::Reverse(share) => {
                let seq = u64::from(share) * (before.0 + 2) / 256;
                let _ = world.give(order(reverse(seq)));
            }
            Step::Retry(share) => {
                let order = world.earlier(share);
                let known = world.answers.get(&order.request).cloned();
                let again = world.give(order);
                if known.is_some() {
                    assert_eq!(again.ok(), known);
                    assert_eq!(world.desk().book().head(), before);
                }
            }
            Step::Reuse(share) => {
                let earlier = world.earlier(share);
                let other = Order {
                    request: earlier.request,
                    ..order(new_car("stolen"))
                };
                if world.answers.contains_key(&earlier.request) {
                    let refused = world.runtime.block_on(world.desk().submit(other));
                    assert!(matches!(refused, Err(DeskError::RequestIdReused { .. })));
                }
            }
            Step::Jump(seconds) => world.clock.shift(seconds),
            Step::Restart { lose_shelf } => {
                world.close();
                if lose_shelf {
                    std::fs::remove_dir_all(world.broken.store().shelf_folder()).unwrap();
                }
                world.open();
                assert_eq!(world.desk().book().head(), before);
            }
            Step::Burst {
                orders,
                operation,
                fault,
            } => world.burst(orders, operation, fault),
        }
        world
    }

    fn check_invariants(world: &World, _: &usize) {
        world.assert_agrees();
        let head = world.desk().book().head();
        assert!(
            world
                .recorded()
                .windows(2)
                .all(|pair| pair[0].recorded_at <= pair[1].recorded_at)
        );
        assert_eq!(world.desk().standing().head.seq, Seq(head.0));
    }

    fn teardown(mut world: World, _: usize) {
        world.close();
    }
}

/// How many runs; more with `FETTLEBOOK_RUNS`.
fn runs() -> u32 {
    let asked = std::env::var("FETTLEBOOK_RUNS").ok();
    asked.and_then(|text| text.parse().ok()).unwrap_or(24)
}

prop_state_machine! {
    #![proptest_config(Config { cases: runs(), max_shrink_iters: 200, ..Config::default() })]

    #[test]
    fn the_book_is_what_was_acknowledged_whatever_happens(sequential 1..40 => Machine<InFolder>);
}
