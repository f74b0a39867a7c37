//! A list that a person has, taken over with the real client: shown row by row, whole or not at all.

use crate::by_hand::{fettle, fettle_with, head, json};

/// As an old spreadsheet saves it: semicolons, decimal commas, a title, a part's heading and a sum.
const LIST: &[u8] = b"Kit of the yard;;;;\n;;;;\n\
    Was;Anzahl;Gr\xf6\xdfe;Rest;Preis \x80\n\
    Pads;;;;\n\
    coarse foam 150;5, 2 of them 8 jobs;;;18,90\n\
    finishing pad soft;6;150 mm;;17,90\n\
    fine polish;1;500 ml;431 g;27,00\n\
    microfibre cloths 350 gsm;24;;;\n\
    Summe;36;;;63,80\n";

#[test]
fn a_list_is_shown_row_by_row_and_then_taken_over_whole() {
    let folder = tempfile::tempdir().unwrap();
    let (book, list) = (folder.path().join("book"), folder.path().join("kit.csv"));
    std::fs::write(&list, LIST).unwrap();
    let list = list.to_str().unwrap();
    let start = [
        "start",
        "--kit",
        "big",
        "--sheet",
        list,
        "--currency",
        "EUR",
    ];
    let shown = fettle(
        &book,
        &[&start[..], &["--dry-run", "--columns", "120"]].concat(),
    );
    for words in [
        "coarse foam 150",
        "fine thin-foam pad 150 mm",
        "431 g on the scale",
        "24 towels",
        "row 9: a sum",
        "Nothing is recorded yet",
    ] {
        assert!(shown.contains(words), "{words}: {shown}");
    }
    assert_eq!(head(&book), "0");
    fettle(&book, &[&start[..], &["--yes"]].concat());
    let listed = json(&book, &["kit", "list"]);
    assert_eq!(listed["pieces"].as_array().unwrap().len(), 5 + 6 + 1 + 1);
    let pad = json(&book, &["make", "show", "coarse-foam-150"]);
    assert_eq!(pad["make"]["price"]["amount"], "18.90");
    assert_eq!(
        json(&book, &["book", "entries"])["entries"]
            .as_array()
            .unwrap()
            .len(),
        1
    );
}

#[test]
fn a_list_with_something_wrong_is_taken_over_not_at_all_and_all_of_it_is_named() {
    let folder = tempfile::tempdir().unwrap();
    let book = folder.path().join("book");
    let wrong = "what,how many,size,place\nblue pad,4,150 mm,bench\nfine pad,many,150 mm,bench\n";
    let (code, said) = fettle_with(&book, &["start", "--sheet", "-", "--yes"], wrong);
    assert_eq!(code, Some(2), "{said}");
    for words in [
        "2 things are wrong",
        "line 2, column what (A2): It does not say whether this pad is coarse, medium or fine.",
        "line 3, column how many (B3): 'many'",
    ] {
        assert!(said.contains(words), "{words}: {said}");
    }
    // What only the book can say is told by row too.
    let towels = "what,how many\nedgeless towels 400 gsm,12000\nfine pad 150 mm,2\n";
    let (code, said) = fettle_with(&book, &["start", "--sheet", "-", "--yes"], towels);
    assert_eq!(code, Some(2), "{said}");
    assert!(said.contains("line 2, column how many"), "{said}");
    assert_eq!(
        json(&book, &["kit", "list"])["pieces"]
            .as_array()
            .map_or(0, Vec::len),
        0
    );
}

#[test]
fn an_empty_sheet_is_printed_and_needs_no_book() {
    let folder = tempfile::tempdir().unwrap();
    let nowhere = folder.path().join("nowhere");
    assert!(fettle(&nowhere, &["sheet"]).starts_with("what,how many,size,"));
    assert!(fettle(&nowhere, &["sheet", "--html"]).starts_with("<!doctype html>"));
    assert!(!nowhere.exists());
}

/// Where nobody can be asked, nothing is asked, and it is said what to type instead.
#[test]
fn nobody_is_asked_in_a_pipe() {
    let folder = tempfile::tempdir().unwrap();
    let book = folder.path().join("book");
    let (code, said) = fettle_with(&book, &["start"], "");
    assert_eq!(code, Some(2), "{said}");
    assert!(said.contains("fettle start --kit big --yes"), "{said}");
    let (code, said) = fettle_with(&book, &["start", "--kit", "big"], "");
    assert_eq!(code, Some(2), "{said}");
    assert!(said.contains("--yes"), "{said}");
    let (code, said) = fettle_with(&book, &["start", "--kit", "huge"], "");
    assert_eq!(code, Some(2), "{said}");
    assert!(said.contains("big-small"), "{said}");
    assert_eq!(head(&book), "0");
}
