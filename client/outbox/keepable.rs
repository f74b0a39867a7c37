//! What the client says of requests that a device may keep, and what it has to know of them.
//!
//! Which they are says the contract. The person's own words are never changed: what was said goes out
//! as it was said.

use fettlebook_contract::call::Keepable;

/// Whether a request only asks what would be recorded.
pub(crate) fn only_looks(deed: &Keepable) -> bool {
    match deed {
        Keepable::LogUse(log) => log.validate_only,
        Keepable::WashKit(wash) => wash.validate_only,
        Keepable::WeighBottles(weigh) => weigh.validate_only,
        Keepable::CountKit(count) => count.validate_only,
        Keepable::TakeJob(take) => take.validate_only,
        _ => false,
    }
}

/// With this begin the tags of pads, where nobody chose other letters: they are washed and have no level, so
/// that nothing is asked of the shop for them.
const PAD: &str = "P-";

/// Tags of what is counted, weighed or washed with a deed, whose level before it matters.
pub(crate) fn measured(deed: &Keepable) -> Vec<&str> {
    let weighed = match deed {
        Keepable::CountKit(count) => return vec![&count.tag],
        Keepable::WashKit(wash) => {
            let tags = wash.tags.iter().map(String::as_str);
            return tags
                .filter(|tag| !tag.to_ascii_uppercase().starts_with(PAD))
                .collect();
        }
        Keepable::WeighBottles(weigh) => &weigh.weighings,
        Keepable::LogUse(log) => &log.weighings,
        _ => return Vec::new(),
    };
    weighed.iter().map(|one| one.bottle.as_str()).collect()
}

/// What a deed is, in the words of the command line.
pub(crate) fn told(deed: &Keepable) -> String {
    let of = |verb: &str, tags: &[String]| format!("{verb} {}", tags.join(" "));
    match deed {
        Keepable::TakeJob(take) if take.release => format!("take {} --release", take.job),
        Keepable::TakeJob(take) => format!("take {}", take.job),
        Keepable::LogUse(log) if log.job.is_empty() => "log a loose use".to_owned(),
        Keepable::LogUse(log) => format!("log {}", log.job),
        Keepable::WashKit(wash) => of("wash", &wash.tags),
        Keepable::MarkDry(dry) => of("kit dry", &dry.tags),
        Keepable::WeighBottles(weigh) => {
            let bottles: Vec<_> = weigh.weighings.iter().map(|one| &*one.bottle).collect();
            format!("weigh {}", bottles.join(" "))
        }
        Keepable::CountKit(count) => format!("count {}", count.tag),
        Keepable::MoveKit(moved) => format!("{} to {}", of("move", &moved.tags), moved.place),
        Keepable::SetAside(aside) => of("kit aside", &aside.tags),
        Keepable::ReturnKit(back) => of("kit return", &back.tags),
        Keepable::BinKit(bin) => of("bin", &bin.tags),
        Keepable::DemoteTowels(demote) => format!("kit demote {}", demote.tag),
    }
}
