//! What the service says of its health: serving as long as it takes orders.
//!
//! Anyone may ask, without a token: whoever keeps it running has none. So nothing more is told than that
//! word, by the name of a service.

#[cfg(feature = "postgres")]
use std::collections::{HashMap, HashSet};

use fettlebook_contract::v1::access_service_server::AccessServiceServer;
use fettlebook_contract::v1::book_service_server::BookServiceServer;
use fettlebook_contract::v1::job_service_server::JobServiceServer;
use fettlebook_contract::v1::kit_service_server::KitServiceServer;
use fettlebook_contract::v1::supply_service_server::SupplyServiceServer;
use tonic::server::NamedService as _;
use tonic_health::ServingStatus;
use tonic_health::pb::health_server::HealthServer;
use tonic_health::server::{HealthReporter, HealthService};
#[cfg(feature = "postgres")]
use uuid::Uuid;

#[cfg(feature = "postgres")]
use super::node::Standing;
use crate::edge::Edge;
use crate::limits::HEALTH_LOOK_EVERY;

/// The service as a whole, and each of its services.
const NAMES: [&str; 6] = [
    "",
    KitServiceServer::<Edge>::NAME,
    JobServiceServer::<Edge>::NAME,
    BookServiceServer::<Edge>::NAME,
    SupplyServiceServer::<Edge>::NAME,
    AccessServiceServer::<Edge>::NAME,
];

/// Tells health of all services alike.
pub(super) struct Health(HealthReporter);

impl Health {
    /// Whether it serves from the start; and the service that says so.
    pub(super) async fn starting(is_well: bool) -> (Self, HealthServer<HealthService>) {
        let reporter = HealthReporter::new();
        let asked = HealthService::from_health_reporter(reporter.clone());
        let health = Self(reporter);
        health.tell(status(is_well)).await;
        (health, HealthServer::new(asked))
    }

    /// Says it of the service and of each of its services.
    pub(super) async fn tell(&self, status: ServingStatus) {
        for name in NAMES {
            self.0.set_service_status(name, status).await;
        }
    }

    /// The same of a node and its books, as they stand.
    #[cfg(feature = "postgres")]
    pub(super) async fn of_node(
        standing: Standing,
    ) -> (Self, OfBooks, HealthServer<HealthService>) {
        let (health, asked) = Self::starting(standing.is_well).await;
        let mut of_books = OfBooks {
            health: Self(health.0.clone()),
            told: None,
            told_of: HashMap::new(),
        };
        of_books.tell(standing).await;
        (health, of_books, asked)
    }

    /// Says that it serves, for as long as it can record.
    pub(super) async fn follow(&self, can_record: impl Fn() -> bool) {
        let mut often = tokio::time::interval(HEALTH_LOOK_EVERY);
        let mut told = None;
        loop {
            let status = status(can_record());
            if told.replace(status) != Some(status) {
                self.tell(status).await;
            }
            often.tick().await;
        }
    }
}

/// Tells that a node serves, and of each of its books that it can record there, by the name `book/ID`.
#[cfg(feature = "postgres")]
pub(super) struct OfBooks {
    health: Health,
    told: Option<bool>,
    told_of: HashMap<Uuid, bool>,
}

#[cfg(feature = "postgres")]
impl OfBooks {
    /// Tells it again and again.
    pub(super) async fn follow(mut self, standing: impl Fn() -> Standing) {
        let mut often = tokio::time::interval(HEALTH_LOOK_EVERY);
        loop {
            self.tell(standing()).await;
            often.tick().await;
        }
    }

    /// Tells what is not told yet.
    async fn tell(&mut self, Standing { is_well, books }: Standing) {
        if self.told.replace(is_well) != Some(is_well) {
            self.health.tell(status(is_well)).await;
        }
        let reporter = &mut self.health.0;
        let mut gone: HashSet<Uuid> = self.told_of.keys().copied().collect();
        for (id, is_well) in books {
            gone.remove(&id);
            if self.told_of.insert(id, is_well) != Some(is_well) {
                let status = status(is_well);
                reporter.set_service_status(book_name(id), status).await;
            }
        }
        for id in gone {
            self.told_of.remove(&id);
            reporter.clear_service_status(&book_name(id)).await;
        }
    }
}

const fn status(is_well: bool) -> ServingStatus {
    if is_well {
        ServingStatus::Serving
    } else {
        ServingStatus::NotServing
    }
}

/// By which name the health of a book is asked for.
#[cfg(feature = "postgres")]
fn book_name(id: Uuid) -> String {
    format!("book/{id}")
}
