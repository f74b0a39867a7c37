//! Whole clients in four languages, each a file of at most 80 lines, and of a page's script 40: they receive
//! kit, check a job, log it with retries and watch the book, over TLS with a device's token.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use tempfile::TempDir;

use crate::binaries::{Fettled, done, kept_demo};
use crate::node;
use crate::paired::{Device, authority};
use crate::python::{root, script_command, succeeded};

/// Folder of Debian's Go packages. Source: Debian's policy for Go packages.
const DEBIANS_GO: &str = "/usr/share/gocode";

/// A shop with a job that nobody has worked, for a client of its own.
struct Ready {
    _folder: TempDir,
    book: PathBuf,
    fettled: Fettled,
    van: Device,
}

impl Ready {
    fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let book = kept_demo(folder.path(), &[]);
        let fettled = Fettled::serve_tls(&book);
        let van = Device::pair(&book, "van-a", "work");
        Self {
            _folder: folder,
            book,
            fettled,
            van,
        }
    }

    /// Has a client do its work, and sees that each deed counts once.
    fn serve(&self, mut client: Command, protos: bool) {
        let address = self.fettled.address().replace("127.0.0.1", "localhost");
        let authority = authority(&self.book);
        client.arg(address);
        if protos {
            client.arg(root().join("proto"));
        }
        client.arg(&authority).arg(&self.van.token).arg("black-suv");
        let said = succeeded(&client.output().unwrap());
        assert!(said.contains("check: VERDICT_"), "{said}");
        assert!(
            said.contains("watched") && !said.contains("false"),
            "{said}"
        );
        let state = done(self.van.shop(), &["job", "show", "black-suv"]);
        assert!(state.contains("done"), "{state}");
        let recorded = done(self.van.shop(), &["entries", "--by", "van-a", "--json"]);
        assert_eq!(recorded.matches("\"requestId\"").count(), 2, "{recorded}");
    }
}

fn example(name: &str) -> PathBuf {
    root().join("tests/examples").join(name)
}

/// A client that stands in a folder where its libraries are found.
fn in_js(script: &str) -> Option<Command> {
    let found = node::script_command("client.js")?;
    let mut command = Command::new(found.get_program());
    command
        .arg(example(script))
        .current_dir(root().join("tests/js"));
    Some(command)
}

#[test]
fn a_client_in_python_does_its_work() {
    let Some(found) = script_command("rows.py", &["grpc", "grpc_tools"]) else {
        return;
    };
    let mut client = Command::new(found.get_program());
    client.arg(example("client.py"));
    Ready::new().serve(client, true);
}

#[test]
fn a_client_in_javascript_does_its_work() {
    let Some(client) = in_js("client.js") else {
        return;
    };
    Ready::new().serve(client, true);
}

#[test]
fn a_pages_script_does_its_work() {
    let Some(mut client) = in_js("page_in_node.js") else {
        return;
    };
    let ready = Ready::new();
    client.env("NODE_EXTRA_CA_CERTS", authority(&ready.book));
    ready.serve(client, true);
}

#[test]
fn a_client_in_go_does_its_work() {
    let folder = tempfile::tempdir().unwrap();
    let Some(client) = built_in_go(folder.path()) else {
        return;
    };
    Ready::new().serve(Command::new(client), false);
}

/// Builds the client in Go with what Debian has for it; nothing where that is not there.
///
/// With `FETTLEBOOK_REQUIRE_GO=1` a skip fails the test.
fn built_in_go(folder: &Path) -> Option<PathBuf> {
    let has = |program: &str| {
        let found = Command::new("sh")
            .args(["-c", &format!("command -v {program}")])
            .output();
        found.is_ok_and(|output| output.status.success())
    };
    let missing: Vec<&str> = ["go", "protoc", "protoc-gen-go", "protoc-gen-go-grpc"]
        .into_iter()
        .filter(|program| !has(program))
        .collect();
    let packages = Path::new(DEBIANS_GO).join("src/google.golang.org/grpc");
    if !missing.is_empty() || !packages.is_dir() {
        let why = format!("client.go wants {missing:?} and {}", packages.display());
        let required = std::env::var("FETTLEBOOK_REQUIRE_GO").is_ok_and(|value| value == "1");
        assert!(!required, "required, yet skipped: {why}");
        eprintln!("skipped: {why}; .ci/run says which packages of Debian have them");
        return None;
    }
    let source = folder.join("src");
    fs::create_dir_all(source.join("client")).unwrap();
    fs::copy(example("client.go"), source.join("client/client.go")).unwrap();
    let protos = root().join("proto");
    let files = fs::read_dir(protos.join("fettlebook/v1")).unwrap();
    let mut files: Vec<String> = files
        .map(|file| {
            format!(
                "fettlebook/v1/{}",
                file.unwrap().file_name().to_string_lossy()
            )
        })
        .collect();
    files.sort();
    let mut protoc = Command::new("protoc");
    protoc.arg("-I").arg(&protos);
    for plugin in ["go", "go-grpc"] {
        protoc.arg(format!("--{plugin}_out={}", source.display()));
        // No file says where Go is to find it: that is for who builds.
        for file in &files {
            protoc.arg(format!("--{plugin}_opt=M{file}=fettlebook/v1"));
        }
    }
    succeeded(&protoc.args(&files).output().unwrap());
    let client = folder.join("the-client");
    let mut build = Command::new("go");
    build
        .args(["build", "-o"])
        .arg(&client)
        .arg("client")
        .current_dir(&source)
        .env("GO111MODULE", "off")
        .env("GOFLAGS", "")
        .env("GOPATH", format!("{}:{DEBIANS_GO}", folder.display()));
    succeeded(&build.output().unwrap());
    Some(client)
}

#[test]
fn each_example_is_as_short_as_it_says() {
    for (name, lines_max) in [
        ("client.py", 80),
        ("client.js", 80),
        ("client.go", 80),
        ("page.js", 40),
    ] {
        let text = fs::read_to_string(example(name)).unwrap();
        let lines = text.lines().count();
        assert!(lines <= lines_max, "{name} has {lines} lines");
        let long = text.lines().find(|line| line.chars().count() > 170);
        assert_eq!(long, None, "{name}");
    }
}
