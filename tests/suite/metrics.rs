//! The page of metrics of a real service: its figures are what was done, and a parser that we did not
//! write reads it whole.

use std::io::{Read as _, Write as _};
use std::net::TcpStream;
use std::process::Command;
use std::time::{Duration, Instant};

use crate::binaries::{Fettled, Shop, done, fettle, json, kept_demo};
use crate::python::{run_script, succeeded};

/// Longest wait for a figure.
const WAIT_MAX: Duration = Duration::from_secs(20);

/// What a page answers to a request line, headers included.
fn ask(url: &str, line: &str) -> String {
    let address = url
        .trim_start_matches("http://")
        .trim_end_matches("/metrics");
    let mut tcp = TcpStream::connect(address).unwrap();
    write!(tcp, "{line} HTTP/1.1\r\nHost: {address}\r\n\r\n").unwrap();
    let mut answer = String::new();
    tcp.read_to_string(&mut answer).unwrap();
    answer
}

/// What a page answers to whoever accepts these types, headers left out.
pub(crate) fn body(url: &str, accept: &str) -> String {
    let answer = ask(
        url,
        &format!("GET /metrics HTTP/1.1\r\nAccept: {accept}\r\nX-Line:"),
    );
    let (_, body) = answer.split_once("\r\n\r\n").unwrap();
    body.to_owned()
}

/// A figure of the page, by its name with its labels; `None` when it is not there.
fn figure(page: &str, name: &str) -> Option<f64> {
    let line = page
        .lines()
        .find_map(|line| line.strip_prefix(name)?.strip_prefix(' '));
    line.map(|value| value.parse().unwrap())
}

/// A figure of the page at a URL; 0 when it is not there.
pub(crate) fn page_figure(url: &str, name: &str) -> f64 {
    figure(&ask(url, "GET /metrics"), name).unwrap_or_default()
}

/// Waits until a figure has this value.
pub(crate) fn wait_for(url: &str, name: &str, value: usize) {
    let (start, value) = (Instant::now(), f64::from(u32::try_from(value).unwrap()));
    while figure(&ask(url, "GET /metrics"), name) != Some(value) {
        assert!(start.elapsed() < WAIT_MAX, "{name} is never {value}");
        std::thread::sleep(Duration::from_millis(50));
    }
}

#[test]
fn the_figures_are_what_was_done() {
    let folder = tempfile::tempdir().unwrap();
    let book = kept_demo(folder.path(), &[]);
    let (fettled, url) = Fettled::serve_measured(&book);
    let shop = Shop::At(&fettled.url);
    for tag in ["P-01", "P-02", "P-03"] {
        done(shop, &["wash", tag]);
    }
    for tag in ["P-98", "P-99"] {
        assert!(!fettle(shop, &["wash", tag]).status.success());
    }
    let head = json(shop, &["book", "verify"])["entryCount"].clone();
    let page = ask(&url, "GET /metrics");
    let wash = |code: &str| {
        let labels = format!(r#"{{method="fettlebook.v1.KitService/WashKit",code="{code}"}}"#);
        figure(&page, &format!("fettled_requests_total{labels}"))
    };
    assert_eq!(
        (wash("OK"), wash("NOT_FOUND")),
        (Some(3.0), Some(2.0)),
        "{page}"
    );
    for (name, value) in [
        (r#"fettled_refusals_total{reason="TAG_UNKNOWN"}"#, 2.0),
        (
            r#"fettled_request_duration_seconds_count{method="fettlebook.v1.KitService/WashKit"}"#,
            5.0,
        ),
        ("fettled_journal_sync_duration_seconds_count", 3.0),
        ("fettled_journal_group_entries_sum", 3.0),
        (
            "fettled_book_entries",
            head.as_str().unwrap().parse().unwrap(),
        ),
        ("fettled_book_read_only", 0.0),
        ("fettled_requests_in_flight", 0.0),
        ("fettled_orders_waiting", 0.0),
        ("fettled_watches_open", 0.0),
    ] {
        assert_eq!(figure(&page, name), Some(value), "{name}\n{page}");
    }
    let journal = std::fs::metadata(book.join("journal/000000000001.jsonl")).unwrap();
    let bytes = figure(&page, "fettled_journal_size_bytes").unwrap();
    assert_eq!(bytes.to_string(), journal.len().to_string());
    assert!(figure(&page, "fettled_shelf_size_bytes").unwrap() > 0.0);
    fettled.stop();
}

#[test]
fn a_book_that_can_only_be_read_shows() {
    let folder = tempfile::tempdir().unwrap();
    let book = kept_demo(folder.path(), &[]);
    let journal = book.join("journal/000000000001.jsonl");
    let bytes = std::fs::read(&journal).unwrap();
    std::fs::write(&journal, &bytes[..bytes.len() / 2]).unwrap();
    let (_fettled, url) = Fettled::serve_measured(&book);
    let page = ask(&url, "GET /metrics");
    assert_eq!(figure(&page, "fettled_book_read_only"), Some(1.0), "{page}");
}

/// Source: the OpenMetrics parser of the Python client, which its authors call the reference parser.
#[test]
fn a_reference_parser_reads_the_page_whole() {
    let folder = tempfile::tempdir().unwrap();
    let (fettled, url) = Fettled::serve_measured(&kept_demo(folder.path(), &[]));
    let shop = Shop::At(&fettled.url);
    done(shop, &["wash", "P-01"]);
    assert!(!fettle(shop, &["wash", "P-99"]).status.success());
    if let Some(output) = run_script("openmetrics.py", &["prometheus_client"], &[&url]) {
        let read = succeeded(&output);
        for family in [
            "fettled_requests counter",
            "fettled_request_duration_seconds histogram",
            "fettled_requests_in_flight gauge",
            "fettled_refusals counter",
            "fettled_orders_waiting gauge",
            "fettled_journal_group_entries histogram",
            "fettled_journal_sync_duration_seconds histogram",
            "fettled_journal_size_bytes gauge",
            "fettled_shelf_size_bytes gauge",
            "fettled_book_entries gauge",
            "fettled_book_read_only gauge",
            "fettled_connections_open gauge",
            "fettled_watches_open gauge",
            "fettled_build info",
            "fettled_disk_free_bytes gauge",
            "fettled_disk_size_bytes gauge",
            "fettled_book_unverified_entries gauge",
            "fettled_book_unsaved_entries gauge",
            "fettled_last_verify_timestamp_seconds gauge",
            "fettled_last_backup_timestamp_seconds gauge",
            "fettled_backup_interval_seconds gauge",
            "fettled_backups counter",
            "fettled_backup_failures counter",
            "process_start_time_seconds gauge",
            "process_cpu_seconds counter",
            "process_resident_memory_bytes gauge",
            "process_virtual_memory_bytes gauge",
            "process_open_fds gauge",
            "process_max_fds gauge",
        ] {
            assert!(read.lines().any(|line| line == family), "{family}\n{read}");
        }
    }
}

/// What the process takes is what the system says of it, and the book's upkeep is what was done.
#[cfg(target_os = "linux")]
#[test]
fn what_the_process_takes_and_when_the_book_was_looked_after_is_told() {
    let folder = tempfile::tempdir().unwrap();
    let book = kept_demo(folder.path(), &[]);
    let (fettled, url) = Fettled::serve_measured(&book);
    let shop = Shop::At(&fettled.url);
    let head = page_figure(&url, "fettled_book_entries");
    assert_eq!(
        page_figure(&url, "fettled_last_backup_timestamp_seconds"),
        0.0
    );
    assert_eq!(page_figure(&url, "fettled_book_unsaved_entries"), head);
    let to = folder.path().join("backup").display().to_string();
    done(shop, &["book", "backup", "--to", &to]);
    done(shop, &["book", "verify"]);
    done(shop, &["wash", "P-01"]);
    for since in [
        "fettled_book_unsaved_entries",
        "fettled_book_unverified_entries",
    ] {
        assert_eq!(page_figure(&url, since), 1.0, "{since}");
    }
    // When the backup was written by the clock of the file system.
    let written = std::fs::metadata(format!("{to}/backup.json"))
        .unwrap()
        .modified()
        .unwrap();
    let now = written
        .duration_since(std::time::UNIX_EPOCH)
        .unwrap()
        .as_secs_f64();
    for when in [
        "fettled_last_backup_timestamp_seconds",
        "fettled_last_verify_timestamp_seconds",
        "process_start_time_seconds",
    ] {
        let told = page_figure(&url, when);
        assert!(
            (now - 120.0..=now + 60.0).contains(&told),
            "{when}: {told}, {now}"
        );
    }
    // The page itself is one connection more, and takes a little.
    let files = fettled.open_file_count();
    let told = page_figure(&url, "process_open_fds");
    assert!(
        (told - f64::from(u32::try_from(files).unwrap())).abs() <= 2.0,
        "{told} {files}"
    );
    let resident = page_figure(&url, "process_resident_memory_bytes");
    let said = fettled.resident_bytes();
    assert!((0.5..2.0).contains(&(resident / said)), "{resident} {said}");
    let taken = page_figure(&url, "process_cpu_seconds_total");
    assert!(taken > 0.0 && taken < 60.0, "{taken}");
    let free = page_figure(&url, "fettled_disk_free_bytes");
    assert!(free > 0.0 && free < page_figure(&url, "fettled_disk_size_bytes"));
}

/// Source: RFC 9110, section 12.5.1.
#[test]
fn a_scrape_gets_the_format_that_it_accepts() {
    let folder = tempfile::tempdir().unwrap();
    let (_fettled, url) = Fettled::serve_measured(folder.path());
    for (accept, ends, has) in [
        (
            "application/openmetrics-text; version=1.0.0",
            "# EOF\n",
            "# UNIT ",
        ),
        ("text/plain", "\n", "# TYPE fettled_build_info gauge"),
        ("*/*", "\n", "# TYPE fettled_build_info gauge"),
    ] {
        let page = body(&url, accept);
        assert!(
            page.ends_with(ends) && page.contains(has),
            "{accept}\n{page}"
        );
    }
    assert!(!body(&url, "text/plain").contains("# EOF"));
}

#[test]
fn nothing_else_is_told_and_nobody_who_stands_still_keeps_others_out() {
    let folder = tempfile::tempdir().unwrap();
    let (_fettled, url) = Fettled::serve_measured(folder.path());
    assert!(ask(&url, "GET /").starts_with("HTTP/1.1 404 "));
    assert!(ask(&url, "POST /metrics").starts_with("HTTP/1.1 405 "));
    let address = url
        .trim_start_matches("http://")
        .trim_end_matches("/metrics");
    let silent: Vec<TcpStream> = (0..8)
        .map(|_| TcpStream::connect(address).unwrap())
        .collect();
    assert!(ask(&url, "GET /metrics").starts_with("HTTP/1.1 200 "));
    drop(silent);
}

#[test]
fn metrics_are_not_told_to_other_machines() {
    let folder = tempfile::tempdir().unwrap();
    // No book can be there, so that it ends even where the address is taken.
    let file = folder.path().join("book");
    std::fs::write(&file, "a file").unwrap();
    let output = Command::new(env!("CARGO_BIN_EXE_fettled"))
        .args(["--metrics", "0.0.0.0:0", "--book"])
        .arg(&file)
        .output()
        .unwrap();
    assert_eq!(output.status.code(), Some(2));
    let said = String::from_utf8(output.stderr).unwrap();
    assert!(said.contains("other machines"), "{said}");
}
