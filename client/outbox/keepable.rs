//! What the client says of requests that a device may keep.
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
        Keepable::FillBottle(fill) => fill.validate_only,
        Keepable::CountKit(count) => count.validate_only,
        Keepable::TakeJob(take) => take.validate_only,
        Keepable::ChargeBatteries(charge) => charge.validate_only,
        Keepable::RecordFilm(read) => read.validate_only,
        _ => false,
    }
}

/// What a deed is, in the words of the command line.
pub(crate) fn told(deed: &Keepable) -> String {
    let of = |verb: &str, tags: &[String]| format!("{verb} {}", tags.join(" "));
    match deed {
        Keepable::TakeJob(take) if take.release => format!("take {} --release", take.job),
        Keepable::TakeJob(take) => format!("take {}", take.job),
        Keepable::ReceiveKit(receive) => format!("receive {}", receive.make),
        Keepable::LogUse(log) if log.unbooked.is_some() => {
            "log a car that nobody booked".to_owned()
        }
        Keepable::LogUse(log) if log.job.is_empty() => "log a loose use".to_owned(),
        Keepable::LogUse(log) => format!("log {}", log.job),
        Keepable::WashKit(wash) => of("wash", &wash.tags),
        Keepable::MarkDry(dry) => of("kit dry", &dry.tags),
        Keepable::MarkLabelled(labelled) => of("labels", &labelled.tags),
        Keepable::ChargeBatteries(charge) => of("charge", &charge.tags),
        Keepable::RecordFilm(read) => format!("car readings {}", read.car),
        Keepable::WeighBottles(weigh) => {
            let bottles: Vec<_> = weigh.weighings.iter().map(|one| &*one.bottle).collect();
            format!("weigh {}", bottles.join(" "))
        }
        Keepable::FillBottle(fill) => format!("fill {} from {}", fill.bottle, fill.from),
        Keepable::CountKit(count) => format!("count {}", count.tag),
        Keepable::MoveKit(moved) => format!("{} to {}", of("move", &moved.tags), moved.place),
        Keepable::SetAside(aside) => of("kit aside", &aside.tags),
        Keepable::ReturnKit(back) => of("kit return", &back.tags),
        Keepable::BinKit(bin) => of("bin", &bin.tags),
        Keepable::DemoteTowels(demote) => format!("kit demote {}", demote.tag),
    }
}
