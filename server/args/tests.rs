//! What is taken from a command line, and what is refused.

use super::*;

fn parsed(more: &[&str]) -> Result<Args, clap::Error> {
    match asked(&[&["fettled", "--book", "b"], more].concat())? {
        Asked::Serve(args) => Ok(*args),
        other => panic!("{more:?} asks for {other:?}"),
    }
}

fn asked(words: &[&str]) -> Result<Asked, clap::Error> {
    Asked::parse(words.iter().map(OsString::from))
}

#[test]
fn this_machine_is_served_in_the_open_and_others_are_not() {
    for (address, more, for_devices) in [
        ("127.0.0.1:0", None, false),
        ("[::1]:7420", None, false),
        ("127.0.0.1:0", Some("--tls"), true),
        ("0.0.0.0:7420", None, true),
        ("192.168.1.7:7420", None, true),
        ("[::]:7420", None, true),
    ] {
        let words: Vec<&str> = ["--listen", address].into_iter().chain(more).collect();
        assert_eq!(
            parsed(&words).unwrap().for_devices(),
            for_devices,
            "{words:?}"
        );
    }
    let own = ["--certificate", "c.pem", "--key", "k.pem"];
    assert!(parsed(&own).unwrap().for_devices());
    for bad in [
        &own[..2],
        &own[2..],
        &["--listen", "7420"],
        &["--listen", "example:1"],
    ] {
        assert_eq!(parsed(bad).unwrap_err().exit_code(), 2, "{bad:?}");
    }
}

#[test]
fn a_code_is_asked_for_with_a_name_and_a_role() {
    let words = [
        "fettled", "pair", "--book", "b", "--name", "van-a", "--role", "work",
    ];
    let Asked::Pair(pair) = asked(&words).unwrap() else {
        panic!("no code is asked for")
    };
    assert_eq!(
        (pair.name.as_str(), Role::from(pair.role)),
        ("van-a", Role::Work)
    );
    for bad in [
        ["--name", "Van A", "--role", "work"],
        ["--name", "van-a", "--role", "boss"],
        ["--name", "van-a", "--name", "van-b"],
    ] {
        let bad = [&words[..4], &bad].concat();
        assert_eq!(asked(&bad).unwrap_err().exit_code(), 2, "{bad:?}");
    }
    for at in ["bench:0", "a b:1", "http://bench:1"] {
        let bad = [words.as_slice(), &["--at", at]].concat();
        assert_eq!(asked(&bad).unwrap_err().exit_code(), 2, "{at}");
    }
}

/// From memory: what each shell's script names its function.
#[test]
fn every_shell_gets_completions_of_all_that_can_be_typed() {
    for (word, begins) in [
        ("bash", "_fettled()"),
        ("zsh", "#compdef fettled"),
        ("fish", "function __fish_fettled"),
    ] {
        let Asked::Completions(shell) = asked(&["fettled", "completions", word]).unwrap() else {
            panic!("{word} gets no script")
        };
        let script = String::from_utf8(completions(shell)).unwrap();
        assert!(script.contains(begins), "{word}: {}", &script[..60]);
        for typed in ["pair", "listen", "certificate", "completions"] {
            assert!(script.contains(typed), "{word} does not know {typed}");
        }
    }
    assert!(asked(&["fettled", "completions", "abacus"]).is_err());
}

#[test]
fn there_is_a_manual_page_for_each_command() {
    let folder = tempfile::tempdir().unwrap();
    let pages = folder.path().join("pages");
    manual(&pages).unwrap();
    for (page, says) in [
        ("fettled.1", "listen"),
        ("fettled-pair.1", "role"),
        #[cfg(feature = "postgres")]
        ("fettled-restore.1", "name"),
        #[cfg(feature = "postgres")]
        ("fettled-mend.1", "aside"),
    ] {
        let text = fs::read_to_string(pages.join(page)).unwrap();
        assert!(text.contains(says), "{page}");
    }
}

#[test]
fn metrics_are_told_on_this_machine_alone_and_only_where_asked_for() {
    assert_eq!(parsed(&[]).unwrap().metrics, None);
    for address in ["127.0.0.1:0", "[::1]:9420"] {
        let args = parsed(&["--metrics", address]).unwrap();
        assert_eq!(args.metrics.unwrap().to_string(), address);
    }
    for address in ["0.0.0.0:9420", "192.168.1.7:9420", "[::]:9420", "9420"] {
        let error = parsed(&["--metrics", address]).unwrap_err();
        assert_eq!(error.exit_code(), 2, "{address}");
        assert!(error.to_string().contains("127.0.0.1"), "{error}");
    }
}

/// Source: RFC 6454, section 6.2; and that "null" is what every sandboxed page says, section 6.1.
#[test]
fn a_page_is_named_by_its_origin_and_has_tls_spoken() {
    for (typed, named) in [
        ("https://bench.example", "https://bench.example"),
        ("HTTPS://Bench.Example:443/", "https://bench.example"),
        ("https://bench.example:8443", "https://bench.example:8443"),
        ("http://localhost:8080", "http://localhost:8080"),
        ("http://127.0.0.1:80", "http://127.0.0.1"),
        ("https://[fd00::7]", "https://[fd00::7]"),
    ] {
        let args = parsed(&["--page-from", typed]).unwrap();
        assert_eq!(args.page_from, [named], "{typed}");
        assert!(args.for_devices(), "{typed}");
    }
    let both = "https://bench.example,http://localhost:8080";
    assert_eq!(parsed(&["--page-from", both]).unwrap().page_from.len(), 2);
    for bad in [
        "*",
        "null",
        "bench.example",
        "https://",
        "https://bench.example/book",
        "https://owner@bench.example",
        "https://bench.example:0",
        "ftp://bench.example",
        "http://bench.example",
        "https://*.example",
        "",
    ] {
        let error = parsed(&["--page-from", bad]).unwrap_err();
        assert_eq!(error.exit_code(), 2, "{bad}");
    }
}

#[test]
fn a_quiet_service_logs_what_is_wrong_unless_a_level_is_given() {
    for (words, filter) in [
        (&[][..], "info"),
        (&["-q"], "warn"),
        (&["--quiet", "--log", "debug"], "debug"),
    ] {
        assert_eq!(parsed(words).unwrap().filter(), filter, "{words:?}");
    }
}

#[test]
fn a_filter_that_cannot_be_read_is_refused() {
    assert!(parsed(&["--log", "info,h2=warn"]).is_ok());
    assert!(parsed(&["--log", "loud=very"]).is_err());
    assert!(parsed(&["--log-format", "xml"]).is_err());
}

#[test]
fn backups_are_made_where_a_folder_is_named() {
    let none = parsed(&[]).unwrap().backups;
    assert_eq!(none.to, None);
    let daily = parsed(&["--backup-to", "b"]).unwrap().backups;
    assert_eq!((daily.every.as_hours(), daily.keep), (24, 14));
    for (typed, seconds) in [
        ("6h", 21_600),
        ("1w", 604_800),
        ("90s", 90),
        ("1 day 12 hours", 129_600),
    ] {
        let words = ["--backup-to", "b", "--backup-every", typed, "--keep", "3"];
        let backups = parsed(&words).unwrap().backups;
        assert_eq!(
            (backups.every.as_secs(), backups.keep),
            (seconds, 3),
            "{typed}"
        );
    }
    for bad in [
        &["--backup-to", "b", "--backup-every", "daily"][..],
        &["--backup-to", "b", "--backup-every", "0s"],
        &["--backup-to", "b", "--backup-every", "1 month"],
        &["--backup-to", "b", "--backup-every=-1d"],
        &["--backup-to", "b", "--keep", "0"],
        &["--keep", "3"],
    ] {
        assert_eq!(parsed(bad).unwrap_err().exit_code(), 2, "{bad:?}");
    }
}

/// What is wrong is said in words, whatever the parser makes of options that want or exclude each other.
#[cfg(feature = "postgres")]
#[test]
fn a_place_that_cannot_be_is_told_with_what_to_type() {
    let in_engine = "in place of --book";
    for (typed, told) in [
        ("--book shop --open-books 5", in_engine),
        ("--book shop --let-go-after 5m", in_engine),
        ("--book shop --node d", in_engine),
        ("--book shop --store-authority f", in_engine),
        (
            "--book shop --book-id 019af2b4-7d2e-7c11-9a52-0c4be11f8a01",
            in_engine,
        ),
        (
            "pair --office --book shop --name desk --role keep",
            in_engine,
        ),
        (
            "pair --book shop --node d --name desk --role keep",
            in_engine,
        ),
        (
            "--book shop --store postgres://a@localhost/b --node d",
            "leave one of them out",
        ),
        (
            "--open-books 5",
            "--open-books is for books that an engine keeps, and no engine",
        ),
        ("--node d", "add --store URL"),
        ("", "--book DIR, or the engine"),
        ("pair --name desk --role keep", "--book DIR, or the engine"),
        ("--store postgres://a@localhost/b", "--node DIR"),
        (
            "pair --store postgres://a@localhost/b --name desk --role keep",
            "--node DIR",
        ),
        ("move --book shop", "--to-store URL --node DIR"),
        (
            "move --store a --to-store b --node d",
            "--to-store URL --node DIR",
        ),
        ("move", "--to-book DIR"),
    ] {
        let words: Vec<&str> = ["fettled"]
            .into_iter()
            .chain(typed.split_whitespace())
            .collect();
        let error = asked(&words).unwrap_err();
        assert_eq!(error.exit_code(), 2, "{typed}");
        let said = error.to_string();
        assert!(said.contains(told), "{typed}: {said}");
        assert!(!said.contains("required arguments"), "{typed}: {said}");
    }
    for good in [
        "--book shop",
        "--store postgres://a@localhost/b --node d --open-books 5",
        "pair --store postgres://a@localhost/b --node d --office --name desk --role keep",
        "move --book shop --to-store postgres://a@localhost/b --node d",
        "move --store postgres://a@localhost/b --node d --to-book shop",
        "completions bash",
    ] {
        let words: Vec<&str> = ["fettled"]
            .into_iter()
            .chain(good.split_whitespace())
            .collect();
        assert!(asked(&words).is_ok(), "{good}");
    }
    // What else is wrong is the parser's to say.
    let error = asked(&["fettled", "pair", "--book", "shop"]).unwrap_err();
    assert!(error.to_string().contains("--name"), "{error}");
}
