//! When a log asks what was other: only where nothing of it was said.

use clap::Parser as _;

use crate::args::Cli;
use crate::commands::Command;

fn is_bare(options: &str) -> bool {
    let words = ["fettle", "log", "saloon"].into_iter();
    let cli = Cli::try_parse_from(words.chain(options.split_whitespace())).unwrap();
    match cli.command {
        Some(Command::Log(log)) => log.is_bare(),
        other => panic!("{other:?}"),
    }
}

#[test]
fn whoever_says_what_was_other_is_not_asked_for_it() {
    assert!(is_bare("") && is_bare("--note x"));
    for said in [
        "--pad P-01:torn",
        "--swap P-01=P-02",
        "--towels 6",
        "--weigh B-01=431g",
        "--used B-01=35ml",
        "--panels=-roof",
        "--sundry S-01=3",
        "--minutes 90",
        "--minutes M-01=90",
        "--person helper",
    ] {
        assert!(!is_bare(said), "{said}");
    }
}
