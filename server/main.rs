//! The `fettled` binary: serves one book over gRPC.
//!
//! Everything it does is in `fettlebook_server::serve`.

use std::process::ExitCode;

fn main() -> ExitCode {
    fettlebook_server::serve::run(std::env::args_os())
}
