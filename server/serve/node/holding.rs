//! A book that a node has, with all that goes on beside it for as long as it does.

use std::path::PathBuf;
use std::sync::Arc;

use tokio::sync::OwnedSemaphorePermit;
use tokio::task::JoinSet;

use super::off_the_runtime;
use super::place::Place;
use crate::access::Access;
use crate::desk::{Desk, OpenReport};
use crate::edge::{Caller, Edge, Usage};
use crate::serve::{
    REPORTED_BY, ServeError, backups, keep_saving_used, office, save_used, tell_report,
};

/// A book that this node has.
pub(super) struct Holding {
    pub(super) desk: Desk,
    pub(super) edge: Edge,
    access: Option<Arc<Access>>,
    /// Its place among the books that are open.
    _place: OwnedSemaphorePermit,
    /// What goes on beside, and ends with it.
    _beside: JoinSet<()>,
}

impl Holding {
    /// With whoever may use it read anew, and its backups in a folder, where any are made.
    pub(super) async fn of(
        desk: Desk,
        report: &OpenReport,
        (place, permit): (&Place, OwnedSemaphorePermit),
        backups: Option<(PathBuf, Usage)>,
    ) -> Result<Self, ServeError> {
        tell_report(&desk, report);
        let edge = Edge::new(desk.clone(), Caller::owner(REPORTED_BY));
        let shown = place.shown.load_full();
        let access = match shown {
            Some(shown) => {
                let desk = desk.clone();
                Some(off_the_runtime(move || shown.access(&desk)).await?)
            }
            None => None,
        };
        let mut beside = JoinSet::new();
        let edge = match access.clone() {
            Some(access) => {
                let saved = Arc::clone(&access);
                beside.spawn(async move { keep_saving_used(&saved).await });
                edge.for_devices(access)
            }
            None => edge,
        };
        beside.spawn(office::keep_up(desk.clone(), Arc::clone(&place.beside)));
        if let Some((to, usage)) = backups {
            let plan = backups::Plan::into(&to, &place.args, &desk)?;
            let plan = plan.in_turn(Arc::clone(&place.beside), usage);
            beside.spawn(plan.keep_up(desk.clone()));
        }
        Ok(Self {
            desk,
            edge,
            access,
            _place: permit,
            _beside: beside,
        })
    }

    /// Writes down when its devices last called.
    pub(super) async fn save_used(&self) {
        if let Some(access) = &self.access {
            save_used(access).await;
        }
    }
}
