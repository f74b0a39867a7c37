//! The `fettle` binary: the client, with the service in this process for whoever works alone.
//!
//! It serves the person with the kit. All it does is fit the service's way of starting to what the
//! client asks for.

use std::path::Path;
use std::process::ExitCode;
use std::sync::Arc;

use fettlebook_client::{Local, Solo, SoloClock, SoloError, SoloErrorKind, SoloSession};
use fettlebook_server::desk::{Clock, OpenError, OpenReport, ShelfFound, SystemClock};
use fettlebook_server::journal::JournalError;
use fettlebook_server::solo::{self, StoryClock};

fn main() -> ExitCode {
    fettlebook_client::run(std::env::args_os(), &InProcess)
}

/// The service in this process.
struct InProcess;

impl Solo for InProcess {
    fn open<'a>(
        &'a self,
        folder: &'a Path,
        clock: SoloClock,
    ) -> Local<'a, Result<SoloSession, SoloError>> {
        Box::pin(async move {
            let clock: Arc<dyn Clock> = match clock {
                SoloClock::System => Arc::new(SystemClock),
                SoloClock::Story(moment_us) => Arc::new(StoryClock::new(moment_us)),
            };
            let opened = solo::open(folder, clock).await;
            let service = opened.map_err(|error| told(&error))?;
            let channel = service.channel();
            let notices = notices(service.report());
            let finish = Box::pin(async {
                // What was acknowledged is on the disk already, however the book closes.
                let _ = service.close().await;
            });
            Ok(SoloSession {
                channel,
                notices,
                finish,
            })
        })
    }
}

/// What was found on opening that the person should know.
fn notices(report: &OpenReport) -> Vec<String> {
    let torn = report
        .torn
        .as_ref()
        .map(|torn| format!("The journal: {torn}."));
    let shelf = match &report.shelf {
        ShelfFound::Rebuilt { why } => Some(format!(
            "The shelf was built again from the journal, because {why}."
        )),
        ShelfFound::Current | ShelfFound::Behind { .. } | ShelfFound::Ahead => None,
    };
    let read_only = report
        .read_only
        .as_ref()
        .map(|reason| format!("The book can be read, but nothing can be recorded: {reason}."));
    [torn, shelf, read_only].into_iter().flatten().collect()
}

fn told(error: &solo::SoloError) -> SoloError {
    let kind = match error {
        solo::SoloError::Open(OpenError::InUse { .. }) => SoloErrorKind::Held,
        solo::SoloError::Open(
            OpenError::NoIdentity { .. }
            | OpenError::Identity { .. }
            | OpenError::Journal(JournalError::Damaged(_)),
        ) => SoloErrorKind::Damaged,
        _ => SoloErrorKind::Failed,
    };
    SoloError {
        message: error.to_string(),
        kind,
    }
}
