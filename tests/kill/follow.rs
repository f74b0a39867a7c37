//! `fettle book entries --follow` while the service it follows is killed and started again.
//!
//! The service comes back at the same address, as it does in a shop. What was printed is held
//! against the whole book.

use std::io::Read as _;
use std::path::Path;
use std::process::{Child, Command, Stdio};

use crate::fettled::{Fettled, connect};
use crate::shop::{self, fresh, tag};
use fettlebook_contract::v1;
use fettlebook_contract::v1::kit_service_client::KitServiceClient;

/// A client that follows a book, printing a document a line.
fn follower(url: &str, out: &Path) -> Child {
    Command::new(env!("CARGO_BIN_EXE_fettle"))
        .args(["--at", url, "--json", "book", "entries", "--follow"])
        .stdin(Stdio::null())
        .stdout(std::fs::File::create(out).unwrap())
        .stderr(Stdio::null())
        .spawn()
        .unwrap()
}

async fn wash(url: &str) -> i64 {
    let channel = connect(url).await.unwrap();
    let request = v1::WashKitRequest {
        request_id: fresh(),
        tags: vec![tag("P", 1)],
        ..Default::default()
    };
    let answer = KitServiceClient::new(channel).wash_kit(request).await;
    answer.unwrap().into_inner().entry.unwrap().seq
}

#[test]
fn a_book_that_nobody_serves_cannot_be_followed() {
    let folder = tempfile::tempdir().unwrap();
    let output = Command::new(env!("CARGO_BIN_EXE_fettle"))
        .arg("--book")
        .arg(folder.path())
        .args(["book", "entries", "--follow"])
        .env_remove("FETTLE_AT")
        .output()
        .unwrap();
    assert_eq!(output.status.code(), Some(2));
    let told = String::from_utf8_lossy(&output.stderr).into_owned();
    assert!(told.contains("--at"), "{told}");
}

fn lines(path: &Path) -> Vec<String> {
    let mut text = String::new();
    let mut file = std::fs::File::open(path).unwrap();
    file.read_to_string(&mut text).unwrap();
    text.lines().map(str::to_owned).collect()
}

#[tokio::test(flavor = "multi_thread")]
async fn a_follower_leaves_nothing_out_and_tells_nothing_twice_across_kills() {
    let folder = tempfile::tempdir().unwrap();
    let (book, out) = (folder.path().join("book"), folder.path().join("out"));
    let mut fettled = Fettled::start(&book);
    let url = fettled.url().unwrap();
    let address = url.trim_start_matches("http://").to_owned();
    let mut head = shop::stock(&connect(&url).await.unwrap()).await;
    let mut follower = follower(&url, &out);
    for _ in 0..3 {
        for _ in 0..20 {
            head = wash(&url).await;
        }
        fettled.kill();
        fettled = Fettled::start_at(&book, &address);
        assert_eq!(fettled.url().unwrap(), url);
    }
    head = head.max(wash(&url).await);
    let entry_count = usize::try_from(head).unwrap();
    let soon = std::time::Instant::now() + std::time::Duration::from_secs(20);
    while lines(&out).len() < entry_count && std::time::Instant::now() < soon {
        tokio::time::sleep(std::time::Duration::from_millis(50)).await;
    }
    let pid = follower.id().to_string();
    Command::new("kill").args(["-INT", &pid]).status().unwrap();
    assert!(follower.wait().unwrap().success(), "Ctrl-C is no failure");
    let seqs: Vec<i64> = lines(&out)
        .iter()
        .map(|line| {
            let entry: serde_json::Value = serde_json::from_str(line).unwrap();
            entry["seq"].as_str().unwrap().parse().unwrap()
        })
        .collect();
    assert_eq!(seqs, (1..=head).collect::<Vec<_>>());
}
