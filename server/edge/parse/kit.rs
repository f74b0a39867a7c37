//! Kit commands from the wire: receiving, moving, washing, weighing, counting, binning; one function a command.

use fettlebook_contract::v1;
use fettlebook_model::command::{Counted, Receipt};
use fettlebook_model::kit::Inspection;
use fettlebook_model::wear::Work;
use fettlebook_model::{Book, Command, Refusal};
use fettlebook_quantity::{Mass, Seconds, Volume};

use super::{id, open_date, open_money, open_place, place, said_and_kept, tag, tags, weighings};
use crate::edge::words;

pub(in crate::edge) fn receive(sent: v1::ReceiveKitRequest, _: &Book) -> Result<Command, Refusal> {
    Ok(Command::Receive(Box::new(Receipt {
        make: id("make", &sent.make)?,
        place: open_place("place", &sent.place)?,
        piece_count: sent.piece_count,
        tags: tags("tags", &sent.tags)?,
        towel_count: sent.towel_count,
        lot: sent.lot,
        expiry: open_date("expiry_date", &sent.expiry_date)?,
        volume_ul: sent.volume_ul.map(Volume::from_ul),
        tare_mg: sent.tare_mg.map(Mass::from_mg),
        quantity: sent.quantity,
        towel_grade: words::towel_grade("towel_grade", sent.towel_grade)?,
        work: sent.work_micro_sections.map(Work::from_micro_sections),
        wash_count: sent.wash_count,
        check_due: open_date("check_due_date", &sent.check_due_date)?,
        run_time: sent.run_time_s.map(Seconds::from_s),
        change_count: sent.change_count,
        charge_count: sent.charge_count,
        landed: open_money("landed_cost", sent.landed_cost.as_ref())?,
        landed_quantity: sent.landed_quantity,
        said: said_and_kept(sent.done_time, sent.note, sent.kept.as_ref())?,
    })))
}

pub(in crate::edge) fn go(sent: v1::MoveKitRequest, _: &Book) -> Result<Command, Refusal> {
    Ok(Command::Move {
        tags: tags("tags", &sent.tags)?,
        place: place("place", &sent.place)?,
        said: said_and_kept(sent.done_time, sent.note, sent.kept.as_ref())?,
    })
}

pub(in crate::edge) fn wash(sent: v1::WashKitRequest, _: &Book) -> Result<Command, Refusal> {
    let inspections = sent.inspections.iter().map(|look| {
        let found = Inspection {
            rebound_grade: look.rebound_grade.into(),
            edge_grade: look.edge_grade.into(),
            face_grade: look.face_grade.into(),
        };
        Ok((tag("inspections.tag", &look.tag)?, found))
    });
    Ok(Command::Wash {
        tags: tags("tags", &sent.tags)?,
        inspections: inspections.collect::<Result<_, Refusal>>()?,
        said: said_and_kept(sent.done_time, sent.note, sent.kept.as_ref())?,
    })
}

pub(in crate::edge) fn dry(sent: v1::MarkDryRequest, _: &Book) -> Result<Command, Refusal> {
    Ok(Command::MarkDry {
        tags: tags("tags", &sent.tags)?,
        said: said_and_kept(sent.done_time, sent.note, sent.kept.as_ref())?,
    })
}

pub(in crate::edge) fn labelled(
    sent: v1::MarkLabelledRequest,
    _: &Book,
) -> Result<Command, Refusal> {
    Ok(Command::MarkLabelled {
        tags: tags("tags", &sent.tags)?,
        said: said_and_kept(sent.done_time, sent.note, sent.kept.as_ref())?,
    })
}

pub(in crate::edge) fn charge(
    sent: v1::ChargeBatteriesRequest,
    _: &Book,
) -> Result<Command, Refusal> {
    Ok(Command::Charge {
        tags: tags("tags", &sent.tags)?,
        said: said_and_kept(sent.done_time, sent.note, sent.kept.as_ref())?,
    })
}

pub(in crate::edge) fn weigh(sent: v1::WeighBottlesRequest, _: &Book) -> Result<Command, Refusal> {
    Ok(Command::Weigh {
        weighings: weighings(&sent.weighings)?,
        said: said_and_kept(sent.done_time, sent.note, sent.kept.as_ref())?,
    })
}

pub(in crate::edge) fn fill(sent: v1::FillBottleRequest, _: &Book) -> Result<Command, Refusal> {
    Ok(Command::Fill {
        bottle: tag("bottle", &sent.bottle)?,
        from: tag("from", &sent.from)?,
        volume_ul: sent.volume_ul.map(Volume::from_ul),
        said: said_and_kept(sent.done_time, sent.note, sent.kept.as_ref())?,
    })
}

pub(in crate::edge) fn count(sent: v1::CountKitRequest, _: &Book) -> Result<Command, Refusal> {
    Ok(Command::Count {
        tag: tag("tag", &sent.tag)?,
        count: Counted {
            quantity: sent.quantity,
            clean_count: sent.clean_count,
            soiled_count: sent.soiled_count,
        },
        said: said_and_kept(sent.done_time, sent.note, sent.kept.as_ref())?,
    })
}

pub(in crate::edge) fn set_aside(sent: v1::SetAsideRequest, _: &Book) -> Result<Command, Refusal> {
    Ok(Command::SetAside {
        tags: tags("tags", &sent.tags)?,
        reason: words::required("reason", words::aside_reason("reason", sent.reason)?)?,
        said: said_and_kept(sent.done_time, sent.note, sent.kept.as_ref())?,
    })
}

pub(in crate::edge) fn give_back(sent: v1::ReturnKitRequest, _: &Book) -> Result<Command, Refusal> {
    Ok(Command::Return {
        tags: tags("tags", &sent.tags)?,
        check_due: open_date("check_due_date", &sent.check_due_date)?,
        is_clean: sent.clean,
        said: said_and_kept(sent.done_time, sent.note, sent.kept.as_ref())?,
    })
}

pub(in crate::edge) fn bin(sent: v1::BinKitRequest, _: &Book) -> Result<Command, Refusal> {
    Ok(Command::Bin {
        tags: tags("tags", &sent.tags)?,
        reason: words::required("reason", words::bin_reason("reason", sent.reason)?)?,
        count: sent.count,
        said: said_and_kept(sent.done_time, sent.note, sent.kept.as_ref())?,
    })
}

pub(in crate::edge) fn demote(sent: v1::DemoteTowelsRequest, _: &Book) -> Result<Command, Refusal> {
    Ok(Command::Demote {
        tag: tag("tag", &sent.tag)?,
        grade: words::required("grade", words::towel_grade("grade", sent.grade)?)?,
        said: said_and_kept(sent.done_time, sent.note, sent.kept.as_ref())?,
    })
}
