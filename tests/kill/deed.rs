//! What a caller asks to be recorded, and what the entry of it must hold when it is whole.
//!
//! It serves the kill loop. What is expected of an entry is written down here from the request
//! alone, and never taken from what the service answered.

use fettlebook_contract::v1::book_service_client::BookServiceClient;
use fettlebook_contract::v1::job_service_client::JobServiceClient;
use fettlebook_contract::v1::kit_service_client::KitServiceClient;
use fettlebook_contract::v1::{
    BottleUse, CountKitRequest, DeedKind, Entry, LiquidAmount, LogUseRequest, LooseUse, PadUse,
    ReceiveKitRequest, ReverseEntryRequest, WashKitRequest, WeighBottlesRequest, Weighing,
    liquid_amount,
};
use fettlebook_yard::{PAD_MAKE, step};
use rand::RngExt as _;
use rand::seq::index::sample;
use rand_chacha::ChaCha8Rng;
use tonic::Status;
use tonic::transport::Channel;

use crate::shop::{BOTTLE_COUNT, PAD_COUNT, fresh, tag};

/// A request that was made, whatever becomes of it.
#[derive(Clone, Debug)]
pub(crate) enum Deed {
    Wash(WashKitRequest),
    Weigh(WeighBottlesRequest),
    Count(CountKitRequest),
    Receive(Box<ReceiveKitRequest>),
    Log(Box<LogUseRequest>),
    Reverse(ReverseEntryRequest),
}

impl Deed {
    /// Any deed; a reversal only where the caller has `recorded` something to take back.
    pub(crate) fn any(rng: &mut ChaCha8Rng, recorded: &[i64]) -> Self {
        match rng.random_range(0..12) {
            0..4 => Self::wash(rng),
            4..6 => Self::weigh(rng),
            6..8 => Self::count(rng),
            8 => Self::receive(rng),
            9..11 => Self::log(rng),
            _ if recorded.is_empty() => Self::wash(rng),
            _ => Self::Reverse(ReverseEntryRequest {
                request_id: fresh(),
                seq: recorded[rng.random_range(0..recorded.len())],
                ..Default::default()
            }),
        }
    }

    fn wash(rng: &mut ChaCha8Rng) -> Self {
        let count = rng.random_range(1..=3);
        let pads = sample(rng, PAD_COUNT, count);
        Self::Wash(WashKitRequest {
            request_id: fresh(),
            tags: pads.iter().map(|at| tag("P", at + 1)).collect(),
            ..Default::default()
        })
    }

    fn weigh(rng: &mut ChaCha8Rng) -> Self {
        let bottles = sample(rng, BOTTLE_COUNT, 2);
        let weighings = bottles.iter().map(|at| Weighing {
            bottle: tag("B", at + 1),
            gross_mg: rng.random_range(100_000..900_000),
        });
        Self::Weigh(WeighBottlesRequest {
            request_id: fresh(),
            weighings: weighings.collect(),
            ..Default::default()
        })
    }

    fn count(rng: &mut ChaCha8Rng) -> Self {
        Self::Count(CountKitRequest {
            request_id: fresh(),
            tag: tag("S", 1),
            quantity: Some(rng.random_range(0..50)),
            ..Default::default()
        })
    }

    fn receive(rng: &mut ChaCha8Rng) -> Self {
        Self::Receive(Box::new(ReceiveKitRequest {
            request_id: fresh(),
            make: PAD_MAKE.to_owned(),
            piece_count: rng.random_range(1..=3),
            ..Default::default()
        }))
    }

    fn log(rng: &mut ChaCha8Rng) -> Self {
        let pad = tag("P", rng.random_range(1..=PAD_COUNT));
        let bottle = tag("B", rng.random_range(1..=BOTTLE_COUNT));
        let amount = Some(LiquidAmount {
            amount: Some(liquid_amount::Amount::VolumeUl(1)),
        });
        Self::Log(Box::new(LogUseRequest {
            request_id: fresh(),
            bottles: vec![BottleUse { bottle, amount }],
            loose: Some(LooseUse {
                step: Some(step()),
                machine: tag("M", 1),
                plate: tag("BP", 1),
                section_count: 4,
                pads: vec![PadUse {
                    tag: pad,
                    ..Default::default()
                }],
            }),
            ..Default::default()
        }))
    }

    /// The id it is known by.
    pub(crate) fn request_id(&self) -> &str {
        match self {
            Self::Wash(request) => &request.request_id,
            Self::Weigh(request) => &request.request_id,
            Self::Count(request) => &request.request_id,
            Self::Receive(request) => &request.request_id,
            Self::Log(request) => &request.request_id,
            Self::Reverse(request) => &request.request_id,
        }
    }

    /// Whether its caller may take it back later. Pads that came in stay, so that others may count
    /// on them.
    pub(crate) fn can_be_taken_back(&self) -> bool {
        !matches!(self, Self::Receive(_) | Self::Reverse(_))
    }

    /// Sends it, and gives the entry that was recorded.
    pub(crate) async fn send(&self, channel: &Channel) -> Result<Entry, Status> {
        let mut kit = KitServiceClient::new(channel.clone());
        let answer = match self.clone() {
            Self::Wash(request) => kit.wash_kit(request).await?.into_inner().entry,
            Self::Weigh(request) => kit.weigh_bottles(request).await?.into_inner().entry,
            Self::Count(request) => kit.count_kit(request).await?.into_inner().entry,
            Self::Receive(request) => kit.receive_kit(*request).await?.into_inner().entry,
            Self::Log(request) => {
                let mut jobs = JobServiceClient::new(channel.clone());
                jobs.log_use(*request).await?.into_inner().entry
            }
            Self::Reverse(request) => {
                let mut book = BookServiceClient::new(channel.clone());
                book.reverse_entry(request).await?.into_inner().entry
            }
        };
        Ok(answer.unwrap())
    }

    /// What of it is missing from an entry, or is there that it did not ask for; none when whole.
    pub(crate) fn torn_in(&self, entry: &Entry) -> Option<String> {
        let found = |kind: DeedKind| {
            let deeds = entry.deeds.iter().filter(move |deed| deed.kind() == kind);
            let mut subjects: Vec<String> = deeds.map(|deed| deed.subject.clone()).collect();
            subjects.sort();
            subjects
        };
        let same = |kind, mut wanted: Vec<String>| {
            wanted.sort();
            (found(kind) != wanted).then(|| format!("{kind:?}: {wanted:?} asked, {entry:?}"))
        };
        match self {
            Self::Wash(request) => same(DeedKind::Washed, request.tags.clone()),
            Self::Weigh(request) => {
                let bottles = request.weighings.iter().map(|one| one.bottle.clone());
                same(DeedKind::Weighed, bottles.collect())
            }
            Self::Count(request) => same(DeedKind::Counted, vec![request.tag.clone()]),
            Self::Receive(request) => {
                let count = i64::try_from(found(DeedKind::Received).len()).unwrap();
                (count != request.piece_count).then(|| format!("{request:?}: {entry:?}"))
            }
            Self::Log(request) => {
                let loose = request.loose.as_ref().unwrap();
                same(DeedKind::PadUsed, vec![loose.pads[0].tag.clone()])
                    .or_else(|| same(DeedKind::PlateUsed, vec![loose.plate.clone()]))
                    .or_else(|| same(DeedKind::MachineUsed, vec![loose.machine.clone()]))
                    .or_else(|| {
                        same(
                            DeedKind::LiquidUsed,
                            vec![request.bottles[0].bottle.clone()],
                        )
                    })
            }
            Self::Reverse(request) => {
                let named = entry.deeds.iter().filter_map(|deed| deed.reverses_seq);
                let named: Vec<i64> = named.collect();
                (named != [request.seq]).then(|| format!("{request:?}: {entry:?}"))
            }
        }
    }
}
