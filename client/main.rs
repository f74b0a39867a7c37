//! The `fettle` binary: the client, with the service in this process for whoever works alone.

use std::process::ExitCode;

use fettlebook_server::solo::InProcess;

fn main() -> ExitCode {
    fettlebook_client::run(std::env::args_os(), &InProcess, env!("FETTLEBOOK_COMMIT"))
}
