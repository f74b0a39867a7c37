//! Three clients on gRPC stacks that we did not write: C core through Python, `@grpc/grpc-js`, and Go
//! through grpcurl. All they have of ours is the `.proto` files and the table of refusals.

use std::fmt;
use std::process::{Child, Command, Stdio};

use crate::node;
use crate::python::{beside_python, root, script_command};

/// What both scripts in Python want.
const MODULES: [&str; 3] = ["grpc", "grpc_status", "grpc_tools"];

/// A client on one gRPC stack.
#[derive(Debug, Clone, Copy)]
enum Stack {
    Core,
    Js,
    Go,
}

impl fmt::Display for Stack {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Core => "grpcio",
            Self::Js => "grpc-js",
            Self::Go => "grpcurl",
        })
    }
}

impl Stack {
    /// The client's program; `None` when it is skipped.
    fn command(self) -> Option<Command> {
        match self {
            Self::Core => script_command("grpcio_client.py", &MODULES),
            Self::Js => node::script_command("client.js"),
            Self::Go => {
                beside_python("grpcurl")?;
                script_command("grpcurl_client.py", &MODULES)
            }
        }
    }
}

/// Clients at work on one service.
pub(crate) struct AtWork(Vec<(Stack, Child)>);

/// Has every client that is here do something at the same time: `rows`, `use`, `unreached`, or ask for
/// reasons, with blanks between them. Further options say how to reach the service and as whom, such
/// as `--ca` and `--token`.
pub(crate) fn start(address: &str, what: &str, options: &[&str]) -> AtWork {
    let started = [Stack::Core, Stack::Js, Stack::Go]
        .into_iter()
        .map(|stack| {
            let mut command = stack.command()?;
            command
                .args(["--address", address, "--protos"])
                .arg(root().join("proto"))
                .arg("--table")
                .arg(root().join("tests/public/reasons.json"))
                .args(options)
                .args(what.split(' '))
                .stdout(Stdio::piped())
                .stderr(Stdio::piped());
            Some((stack, command.spawn().unwrap()))
        });
    AtWork(started.flatten().collect())
}

impl AtWork {
    /// How many there are.
    pub(crate) fn count(&self) -> usize {
        self.0.len()
    }

    /// Waits until all are done, each as the table says.
    pub(crate) fn finish(self) {
        for (stack, child) in self.0 {
            let output = child.wait_with_output().unwrap();
            assert!(
                output.status.success(),
                "{stack}: {}{}",
                String::from_utf8_lossy(&output.stdout),
                String::from_utf8_lossy(&output.stderr)
            );
        }
    }
}

/// Has every client do something, each as the table says.
pub(crate) fn all(address: &str, what: &str) {
    start(address, what, &[]).finish();
}
