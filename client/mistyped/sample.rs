//! What stands in an example for something that was not typed, or not rightly.
//!
//! A name of the book is a mark such as `{pad}` until it is filled in from the book that the example is for.

/// What the pieces of an example are.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Sort {
    /// A pad.
    Pad,
    /// A bundle of towels.
    Bundle,
    /// A bottle.
    Bottle,
    /// A battery.
    Battery,
    /// A sundry.
    Sundry,
    /// Any piece.
    Piece,
    /// A make.
    Make,
    /// A make of machines.
    MachineMake,
    /// A make of pads.
    PadMake,
    /// A make of liquids.
    LiquidMake,
    /// A car.
    Car,
    /// A routine.
    Routine,
    /// A booked job.
    Job,
    /// A supplier.
    Supplier,
    /// An order.
    Order,
    /// An entry's number.
    Entry,
}

/// The marks, what each stands for, and what the invented shop has for it.
const MARKS: &[(&str, Sort, &str)] = &[
    ("{pad}", Sort::Pad, "P-01"),
    ("{bundle}", Sort::Bundle, "T-01"),
    ("{bottle}", Sort::Bottle, "B-01"),
    ("{battery}", Sort::Battery, "BT-01"),
    ("{sundry}", Sort::Sundry, "S-01"),
    ("{tag}", Sort::Piece, "P-01"),
    ("{make}", Sort::Make, "coarse-foam-150"),
    ("{machine-make}", Sort::MachineMake, "orbital-150"),
    ("{pad-make}", Sort::PadMake, "coarse-foam-150"),
    ("{liquid-make}", Sort::LiquidMake, "coarse-compound-1l"),
    ("{car}", Sort::Car, "silver-saloon"),
    ("{routine}", Sort::Routine, "two-step"),
    ("{job}", Sort::Job, "saloon-thursday"),
    ("{supplier}", Sort::Supplier, "tern-quay"),
    ("{order}", Sort::Order, "order-1"),
    ("{seq}", Sort::Entry, "1"),
];

/// An example with its marks filled in: by the book where it has such a thing, else by the invented shop.
pub(crate) fn filled(example: &str, mut of_book: impl FnMut(Sort) -> Option<String>) -> String {
    let mut text = example.to_owned();
    for (mark, sort, invented) in MARKS {
        if text.contains(mark) {
            let name = of_book(*sort).unwrap_or_else(|| (*invented).to_owned());
            text = text.replace(mark, &name);
        }
    }
    text
}

/// The sorts of names that an example has marks for.
pub(crate) fn sorts_in(example: &str) -> Vec<Sort> {
    let marks = MARKS.iter().filter(|(mark, ..)| example.contains(mark));
    marks.map(|(_, sort, _)| *sort).collect()
}

/// What may be typed for an argument of a command.
pub(crate) fn of(path: &str, arg: &clap::Arg) -> String {
    let name = arg
        .get_value_names()
        .and_then(|names| names.first())
        .map_or("", |name| name.as_str());
    if let Some(known) = by_name(path, arg.get_long().unwrap_or_default(), name) {
        return known.to_owned();
    }
    let words = arg.get_possible_values();
    if let Some(first) = words.first() {
        return first.get_name().to_owned();
    }
    let from_parser = arg.get_value_parser().possible_values();
    if let Some(first) = from_parser.and_then(|mut words| words.next()) {
        return first.get_name().to_owned();
    }
    let help = arg.get_help().map(ToString::to_string).unwrap_or_default();
    in_help(&help).unwrap_or_else(|| "2".to_owned())
}

/// The example that a help text names.
fn in_help(help: &str) -> Option<String> {
    let (_, rest) = help.split_once("for example ")?;
    if let Some(quoted) = rest.strip_prefix('\'') {
        return quoted.split('\'').next().map(str::to_owned);
    }
    let word = rest.split([' ', ';', ')']).next()?;
    let word = word.trim_end_matches([',', '.']);
    (!word.is_empty()).then(|| word.to_owned())
}

fn by_name(path: &str, option: &str, name: &str) -> Option<&'static str> {
    Some(match (path, option, name) {
        ("fettle wash", _, "TAG") => "{pad}",
        ("fettle wear", _, "MAKE") => "{pad-make}",
        ("fettle charge", _, "TAG") | (_, "battery", "BATTERY") => "{battery}",
        (_, "for", "MAKES") => "{machine-make}",
        ("fettle weigh" | "fettle count", _, "TAG") => "{bottle}",
        ("fettle kit demote", _, "TAG") => "{bundle}",
        ("fettle receive", "tag", _) => "P-901",
        ("fettle labels", "size", _) => "38x21",
        ("fettle start", "kit", _) => "big",
        (_, "size", "SIZE") => "a5",
        (_, "paper", "FILE") => "sheet.html",
        (_, "svg", "FILE") => "picture.svg",
        (_, _, "TAG") => "{tag}",
        (_, _, "MAKE") | ("fettle receive", _, "ORDER|MAKE") => "{make}",
        (_, _, "MAKE OFFER") => "{make}=24.50EUR",
        (_, _, "CAR") => "{car}",
        (_, _, "ROUTINE") => "{routine}",
        (_, _, "JOB") => "{job}",
        (_, _, "SUPPLIER") => "{supplier}",
        (_, _, "ORDER") => "{order}",
        (_, _, "PLACE") => "bench",
        ("fettle book reverse", _, "SEQ") => "last",
        (_, _, "SEQ") => "1",
        (_, _, "MAKE=PACKS") => "{make}=2",
        (_, "done", _) => "yesterday 17:00",
        (_, "since" | "until", _) => "yesterday",
        (_, "by", "NAME") => "bench",
        (_, _, "NAME=ROLE") => "van-a=work",
        (
            "fettle shop codes"
            | "fettle shop devices"
            | "fettle shop export-key"
            | "fettle shop pair",
            _,
            "NAME",
        ) => "van-a",
        (_, "second-day", _) => "+10 days",
        (_, _, "WHEN") => "tomorrow 08:00",
        (_, _, "DATE") => "2027-03-31",
        (_, _, "TEXT") => "as agreed",
        (_, _, "DIR") => "fettlebook-copy",
        (_, _, "BOTTLE=WEIGHT") => "{bottle}=412g",
        (_, _, "BOTTLE=AMOUNT") => "{bottle}=35ml",
        (_, _, "SUNDRY=AMOUNT") => "{sundry}=2",
        (_, _, "PAD") => "{pad}:torn",
        (_, _, "TOWELS") => "dropped=1",
        (_, _, "PANELS") => "-roof",
        (_, _, "PANEL=FILM") => "bonnet=110um",
        (_, _, "PANEL=SPOTS") => "bonnet=112,115,118",
        (_, _, "LOOK") => "{pad}=rebound 4, edge 3, face 5",
        (_, "share", _) => "cut spot: machine={machine-make}, pad={pad-make}",
        // The one that parts the time most evenly.
        (_, "second-from", _) => "",
        (_, "loose", "STEP") => "machine={machine-make}, pad={pad-make}, liquid={liquid-make}",
        (_, _, "STEP") => "cut: machine={machine-make}, pad={pad-make}, liquid={liquid-make}",
        (_, _, "PLANNED=USED") => "{pad}=P-09",
        (_, _, "KEY=VALUE") => "dot_ul=260",
        (_, _, "SECTIONS") => "4",
        (_, _, "THREAD") => "M8",
        (_, _, "SPEED") => "4800/min",
        (_, _, "RATE") => "25%",
        (_, _, "SUM" | "PRICE") => "18.90 EUR",
        _ => return None,
    })
}

#[cfg(test)]
mod tests {
    use super::{Sort, filled, in_help};

    #[test]
    fn an_example_is_filled_in_by_the_book_and_else_by_the_invented_shop() {
        let text = filled("fettle weigh {bottle}=412g", |sort| {
            (sort == Sort::Bottle).then(|| "B-07".to_owned())
        });
        assert_eq!(text, "fettle weigh B-07=412g");
        assert_eq!(filled("fettle wash {pad}", |_| None), "fettle wash P-01");
    }

    #[test]
    fn a_help_text_gives_its_example() {
        let found = in_help("When it starts, for example 'tomorrow 08:00' or 'thu 08:00'");
        assert_eq!(found.as_deref(), Some("tomorrow 08:00"));
        let found = in_help("Where it goes, for example van-a; without it the bench");
        assert_eq!(found.as_deref(), Some("van-a"));
        assert_eq!(in_help("Anything worth remembering"), None);
    }
}
