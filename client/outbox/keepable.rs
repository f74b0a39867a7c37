//! The ten requests that a device may keep: what happens to the kit, told where it happens.
//!
//! It serves the way to a shop, which fills in when and after what a deed was kept. It changes
//! nothing else of a request: what the person said goes out as it was said.

use fettlebook_contract::v1::{
    BinKitRequest, CountKitRequest, DemoteTowelsRequest, Kept, LogUseRequest, MarkDryRequest,
    MoveKitRequest, ReturnKitRequest, SetAsideRequest, WashKitRequest, WeighBottlesRequest,
};
use prost::{DecodeError, Message as _};
use prost_types::Timestamp;

/// A request that may be kept.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Keepable {
    /// A use, by far the largest.
    Log(Box<LogUseRequest>),
    /// A wash.
    Wash(WashKitRequest),
    /// Washed pieces that are dry.
    Dry(MarkDryRequest),
    /// Weigh-ins.
    Weigh(WeighBottlesRequest),
    /// A count.
    Count(CountKitRequest),
    /// A move to another place.
    Move(MoveKitRequest),
    /// Pieces set aside.
    Aside(SetAsideRequest),
    /// Pieces brought back from aside.
    Back(ReturnKitRequest),
    /// A loss.
    Bin(BinKitRequest),
    /// Towels taken down a grade.
    Demote(DemoteTowelsRequest),
}

/// Path of the rpc that logs a use.
pub(crate) const LOG_USE: &str = "/fettlebook.v1.JobService/LogUse";

/// Every field that the ten have in common.
macro_rules! each {
    ($deed:expr, $one:ident => $done:expr) => {
        match $deed {
            Keepable::Log($one) => $done,
            Keepable::Wash($one) => $done,
            Keepable::Dry($one) => $done,
            Keepable::Weigh($one) => $done,
            Keepable::Count($one) => $done,
            Keepable::Move($one) => $done,
            Keepable::Aside($one) => $done,
            Keepable::Back($one) => $done,
            Keepable::Bin($one) => $done,
            Keepable::Demote($one) => $done,
        }
    };
}

impl Keepable {
    /// Reads a request by the path of its rpc; nothing for one that may not be kept.
    pub(crate) fn decode(path: &str, bytes: &[u8]) -> Option<Result<Self, DecodeError>> {
        if path == LOG_USE {
            return Some(LogUseRequest::decode(bytes).map(|log| Self::Log(Box::new(log))));
        }
        Some(match path.strip_prefix("/fettlebook.v1.KitService/")? {
            "WashKit" => WashKitRequest::decode(bytes).map(Self::Wash),
            "MarkDry" => MarkDryRequest::decode(bytes).map(Self::Dry),
            "WeighBottles" => WeighBottlesRequest::decode(bytes).map(Self::Weigh),
            "CountKit" => CountKitRequest::decode(bytes).map(Self::Count),
            "MoveKit" => MoveKitRequest::decode(bytes).map(Self::Move),
            "SetAside" => SetAsideRequest::decode(bytes).map(Self::Aside),
            "ReturnKit" => ReturnKitRequest::decode(bytes).map(Self::Back),
            "BinKit" => BinKitRequest::decode(bytes).map(Self::Bin),
            "DemoteTowels" => DemoteTowelsRequest::decode(bytes).map(Self::Demote),
            _ => return None,
        })
    }

    /// Whether it only asks what would be recorded.
    pub(crate) fn only_looks(&self) -> bool {
        matches!(self, Self::Log(log) if log.validate_only)
    }

    /// Its request id.
    pub(crate) fn request_id(&self) -> &str {
        each!(self, one => &one.request_id)
    }

    /// When it happened, where that was said.
    pub(crate) fn done_time(&self) -> Option<Timestamp> {
        each!(self, one => one.done_time)
    }

    /// Its note.
    pub(crate) fn note(&self) -> &str {
        each!(self, one => &one.note)
    }

    /// How it is kept, once that is filled in.
    pub(crate) fn kept(&self) -> Option<Kept> {
        each!(self, one => one.kept.clone())
    }

    /// Fills in when it happened, where that was not said, and how it is kept.
    pub(crate) fn keep(&mut self, now: Timestamp, kept: Kept) {
        each!(self, one => {
            one.done_time.get_or_insert(now);
            one.kept = Some(kept);
        });
    }

    /// The request as it is sent.
    pub(crate) fn encode(&self) -> Vec<u8> {
        each!(self, one => one.encode_to_vec())
    }

    /// Tags of what is counted or weighed with it, whose level before it matters.
    pub(crate) fn measured(&self) -> Vec<&str> {
        let weighed = match self {
            Self::Count(count) => return vec![&count.tag],
            Self::Weigh(weigh) => &weigh.weighings,
            Self::Log(log) => &log.weighings,
            _ => return Vec::new(),
        };
        weighed.iter().map(|one| one.bottle.as_str()).collect()
    }

    /// What it is, in the words of the command line.
    pub(crate) fn told(&self) -> String {
        let of = |verb: &str, tags: &[String]| format!("{verb} {}", tags.join(" "));
        match self {
            Self::Log(log) if log.job.is_empty() => "log a loose use".to_owned(),
            Self::Log(log) => format!("log {}", log.job),
            Self::Wash(wash) => of("wash", &wash.tags),
            Self::Dry(dry) => of("kit dry", &dry.tags),
            Self::Weigh(weigh) => {
                let bottles: Vec<_> = weigh.weighings.iter().map(|one| &*one.bottle).collect();
                format!("weigh {}", bottles.join(" "))
            }
            Self::Count(count) => format!("count {}", count.tag),
            Self::Move(moved) => format!("{} to {}", of("move", &moved.tags), moved.place),
            Self::Aside(aside) => of("kit aside", &aside.tags),
            Self::Back(back) => of("kit return", &back.tags),
            Self::Bin(bin) => of("bin", &bin.tags),
            Self::Demote(demote) => format!("kit demote {}", demote.tag),
        }
    }
}
