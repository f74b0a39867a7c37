//! Clients that we did not write: C core through Python, and a reflection-driven command line tool.

use std::process::Command;

use crate::binaries::Fettled;
use crate::python::{beside_python, root, run_script, succeeded};

const SERVICES: [&str; 3] = [
    "fettlebook.v1.BookService",
    "fettlebook.v1.JobService",
    "fettlebook.v1.KitService",
];

#[test]
fn a_python_client_checks_and_logs_from_the_proto_files_alone() {
    let folder = tempfile::tempdir().unwrap();
    let fettled = Fettled::serve(folder.path());
    let protos = root().join("proto");
    let modules = ["grpc", "grpc_status", "grpc_tools"];
    let args = [fettled.address(), protos.to_str().unwrap()];
    if let Some(output) = run_script("use_from_proto_files.py", &modules, &args) {
        assert!(succeeded(&output).contains("checked, logged, retried, verified"));
    }
}

#[test]
fn reflection_lists_every_service_and_its_methods() {
    let folder = tempfile::tempdir().unwrap();
    let fettled = Fettled::serve(folder.path());
    if let Some(output) = run_script("reflection.py", &["grpc_reflection"], &[fettled.address()]) {
        let listed = succeeded(&output);
        for service in SERVICES {
            assert!(listed.contains(service), "{listed}");
        }
        assert!(listed.contains("grpc.health.v1.Health"), "{listed}");
        assert!(
            listed.contains("LogUse") && listed.contains("CheckJobs"),
            "{listed}"
        );
    }
}

#[test]
fn a_public_command_line_tool_lists_and_calls_the_services() {
    let Some(grpcurl) = beside_python("grpcurl") else {
        return;
    };
    let folder = tempfile::tempdir().unwrap();
    let fettled = Fettled::serve(folder.path());
    let run = |args: &[&str]| {
        let output = Command::new(&grpcurl)
            .arg("-plaintext")
            .args(args)
            .output()
            .unwrap();
        succeeded(&output)
    };
    let listed = run(&[fettled.address(), "list"]);
    for service in SERVICES {
        assert!(listed.contains(service), "{listed}");
    }
    let standing = run(&[fettled.address(), "fettlebook.v1.BookService/GetBook"]);
    assert!(standing.contains("bookId"), "{standing}");
    let health = run(&[fettled.address(), "grpc.health.v1.Health/Check"]);
    assert!(health.contains("SERVING"), "{health}");
}
