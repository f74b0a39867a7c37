//! How the service and the folder of its book stand, for whoever looks after them.
//!
//! Facts alone: what of them is well and what is not is for whoever asks to say.

use fettlebook_contract::v1::{GetConditionResponse, ShelfCondition};
use fettlebook_model::Seq;

use super::book_service::sentence;
use super::{Edge, EdgeError, show};
use crate::desk::{DeskError, Done, ShelfStanding};

impl Edge {
    /// The condition now. It looks at files, and so off the threads that answer others.
    pub(super) async fn condition(&self) -> Result<GetConditionResponse, EdgeError> {
        let head = self.desk.standing().head.seq;
        // A book that is damaged there is told to be so below.
        let newest = self.desk.entry(head).await.ok();
        let edge = self.clone();
        let looking = tokio::task::spawn_blocking(move || edge.looked_at());
        let looked = looking.await.map_err(|_| DeskError::Closed)?;
        Ok(GetConditionResponse {
            newest_entry_time: newest.map(|entry| show::moment(entry.recorded_at)),
            ..looked
        })
    }

    fn looked_at(&self) -> GetConditionResponse {
        let desk = &self.desk;
        let (standing, upkeep, space) = (desk.standing(), desk.upkeep(), desk.space());
        let head = standing.head.seq;
        let (shelf, shelf_trouble) = match desk.shelf_standing() {
            ShelfStanding::InUse => (ShelfCondition::InUse, String::new()),
            ShelfStanding::Lost { why } => (ShelfCondition::Lost, sentence(&why)),
            ShelfStanding::OutOfUse => (ShelfCondition::OutOfUse, String::new()),
        };
        let access = self.access.as_ref();
        let certificate_end = access.and_then(|access| access.certificate_end());
        GetConditionResponse {
            version: env!("CARGO_PKG_VERSION").to_owned(),
            commit: desk.meters().commit().to_owned(),
            service_time: Some(show::moment(desk.now())),
            head_seq: show::seq(head),
            newest_entry_time: None,
            read_only_reason: standing
                .read_only
                .map(|why| sentence(&why))
                .unwrap_or_default(),
            damaged: desk.first_bad().is_some(),
            disk_free_bytes: space.free_bytes.map(whole),
            disk_size_bytes: space.size_bytes.map(whole),
            journal_bytes: whole(space.journal_bytes),
            shelf_bytes: whole(space.shelf_bytes),
            shelf: shelf.into(),
            shelf_trouble,
            verified_time: upkeep.verified.map(|done| show::moment(done.time)),
            unverified_count: since(upkeep.verified, head),
            backup_time: upkeep.backup.map(|done| show::moment(done.time)),
            unsaved_count: since(upkeep.backup, head),
            backup_every_s: upkeep.schedule.map_or(0, |schedule| schedule.every_s),
            backup_due_time: upkeep.schedule.map(|schedule| show::moment(schedule.next)),
            backup_trouble: upkeep
                .trouble
                .map(|trouble| trouble.to_string())
                .unwrap_or_default(),
            certificate_end_time: certificate_end.map(show::moment),
        }
    }
}

/// Entries of a book that ends here, recorded since something was done for all of it.
fn since(done: Option<Done>, head: Seq) -> i64 {
    let until = done.map_or(0, |done| done.seq.0);
    whole(head.0.saturating_sub(until))
}

fn whole(count: u64) -> i64 {
    i64::try_from(count).unwrap_or(i64::MAX)
}
