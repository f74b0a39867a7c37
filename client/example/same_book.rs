//! An example is about the book that was typed, not about the person's own.

use std::ffi::OsString;

use crate::fault::Fault;
use crate::mistyped::quoted;

/// Options that say which book it is about.
const WHICH: [&str; 3] = ["--book", "--at", "--shop"];
const NAME: &str = "fettle ";

/// Puts the options that say which book it is into an example that lacks them, but for one that the fault is
/// about.
pub(super) fn of_same_book(args: &[OsString], fault: &mut Fault) {
    let Some(rest) = fault.hints.example.strip_prefix(NAME) else {
        return;
    };
    if rest.ends_with("--help") {
        return;
    }
    let out_of_reach = fault.reason == "UNREACHABLE";
    let lacks = |option: &&'static str| {
        let is_it = |word: &str| word == *option || word.starts_with(&format!("{option}="));
        let is_at_fault = *fault.field == **option || (out_of_reach && *option == "--at");
        !rest.split(' ').any(is_it) && !is_at_fault
    };
    let mut words = vec![NAME.trim().to_owned()];
    for option in WHICH.into_iter().filter(lacks) {
        words.extend(typed(args, option));
    }
    if words.len() > 1 {
        fault.hints.example = format!("{} {rest}", quoted(&words));
    }
}

/// An option and its value; nothing where it was not typed.
fn typed(args: &[OsString], option: &str) -> Vec<String> {
    let joined = format!("{option}=");
    let words = args.iter().take_while(|word| *word != "--");
    let mut words = words.map(|word| word.to_string_lossy().into_owned());
    while let Some(word) = words.next() {
        if word.starts_with(&joined) {
            return vec![word];
        }
        if word == option {
            return words
                .next()
                .map_or_else(Vec::new, |value| vec![word, value]);
        }
    }
    Vec::new()
}

#[cfg(test)]
mod tests {
    use super::of_same_book;
    use crate::fault::Fault;

    fn example(typed: &[&str], mut fault: Fault) -> String {
        let args: Vec<_> = typed.iter().map(Into::into).collect();
        of_same_book(&args, &mut fault);
        fault.hints.example
    }

    #[test]
    fn an_example_is_about_the_book_that_was_typed() {
        let fault = Fault::usage("JOB", "No.").with_example("fettle job list");
        for (typed, expected) in [
            (&["fettle", "log"][..], "fettle job list"),
            (
                &["fettle", "--book", "shop", "log"],
                "fettle --book shop job list",
            ),
            (
                &["fettle", "log", "--book=my shop"],
                "fettle '--book=my shop' job list",
            ),
            (
                &["fettle", "--at", "http://[::1]:7420", "log"],
                "fettle --at 'http://[::1]:7420' job list",
            ),
            (
                &["fettle", "log", "--", "--book", "shop"],
                "fettle job list",
            ),
        ] {
            assert_eq!(example(typed, fault.clone()), expected);
        }
    }

    #[test]
    fn what_is_there_already_or_is_at_fault_itself_is_not_put_in() {
        let typed = [
            "fettle",
            "--book",
            "shop",
            "--at",
            "http://10.0.0.9:7420",
            "log",
        ];
        let there = Fault::usage("", "No.").with_example("fettle log --book shop");
        assert_eq!(
            example(&typed, there),
            "fettle --at http://10.0.0.9:7420 log --book shop"
        );
        let wrong = Fault::usage("--book", "No.").with_example("fettle job list");
        assert_eq!(
            example(&typed, wrong),
            "fettle --at http://10.0.0.9:7420 job list"
        );
        let away = Fault::unreachable("http://10.0.0.9:7420", "refused").with_example("fettle log");
        assert_eq!(example(&typed, away), "fettle --book shop log");
    }
}
