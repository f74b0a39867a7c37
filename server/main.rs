//! The `fettled` binary: serves one book over gRPC.
//!
//! Everything it does is in `fettlebook_server::serve`.

use std::process::ExitCode;

use mimalloc::MiMalloc;

/// What one thread allocates for an order another frees; the system's allocator is slow at that.
#[global_allocator]
static ALLOCATOR: MiMalloc = MiMalloc;

fn main() -> ExitCode {
    fettlebook_server::serve::run(std::env::args_os(), env!("FETTLEBOOK_COMMIT"))
}
