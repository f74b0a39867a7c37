//! What pads last, with the real binaries: a notebook taken over, the report, the picture, the look at
//! a wash, the reason of a bin.

use std::fs;

use serde_json::Value;

use crate::binaries::{Shop, done, fettle, json, kept_demo};

#[test]
fn a_notebook_counts_from_the_first_day_and_a_bad_one_changes_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let book = kept_demo(folder.path(), &[]);
    let shop = Shop::Solo(&book);
    let failures = |shown: &Value| {
        shown["wear"][0]["failureCount"]
            .as_str()
            .unwrap_or("0")
            .to_owned()
    };
    let before = json(shop, &["wear", "fine-foam-150"]);
    assert_eq!(failures(&before), "2");

    let notebook = folder.path().join("notebook.csv");
    let path = notebook.to_str().unwrap();
    let header = "tag,make,place,work,jobs,washes,status,reason,date\n";
    let head = json(shop, &["book", "where"])["book"]["headSeq"].clone();
    // What the file itself has wrong comes first, then what only the book can know.
    for (cells, named) in [
        (
            "P-63,fine-fome,bench,-4,,9,ready,,",
            vec!["line 4, column work"],
        ),
        (
            "P-63,fine-fome,bench,4,,9,ready,,",
            vec!["line 3, column tag", "line 4, column make"],
        ),
    ] {
        let bad = format!(
            "{header}P-61,fine-foam-150,bench,,7,9,binned,torn,2026-01-05\n\
             P-01,fine-foam-150,bench,,7,9,binned,torn,\n{cells}\n"
        );
        fs::write(&notebook, bad).unwrap();
        let refused = fettle(shop, &["book", "import", "--pads", path]);
        assert_eq!(refused.status.code(), Some(2));
        let said = String::from_utf8(refused.stderr).unwrap();
        let said = said.split_whitespace().collect::<Vec<_>>().join(" ");
        for cell in named {
            assert!(said.contains(cell), "{said}");
        }
        assert_eq!(json(shop, &["book", "where"])["book"]["headSeq"], head);
    }

    let good = format!(
        "{header}P-61,fine-foam-150,bench,,7,9,binned,torn,2026-01-05\n\
         P-62,fine-foam-150,van-a,41.5,,9,ready,,\n"
    );
    fs::write(&notebook, good).unwrap();
    done(shop, &["book", "import", "--pads", path]);
    assert_eq!(failures(&json(shop, &["wear", "fine-foam-150"])), "3");
    let taken = json(shop, &["kit", "show", "P-62"]);
    assert_eq!(taken["piece"]["pad"]["workMicroSections"], "41500000");
    assert_eq!(taken["piece"]["place"], "van-a");
}

#[test]
fn the_picture_for_the_wall_is_a_drawing_that_is_never_overwritten() {
    let folder = tempfile::tempdir().unwrap();
    let book = kept_demo(folder.path(), &[]);
    let shop = Shop::Solo(&book);
    let picture = folder.path().join("wall.svg");
    let path = picture.to_str().unwrap();
    let page = done(shop, &["wear", "coarse-foam-150", "--svg", path]);
    assert!(page.contains("of its rating here"), "{page}");
    let drawn = fs::read_to_string(&picture).unwrap();
    for part in [
        "<svg",
        "coarse foam 150",
        "wear, % of the rated life",
        "</svg>",
    ] {
        assert!(
            drawn.to_lowercase().contains(part),
            "{part} is missing in the picture"
        );
    }
    let again = fettle(shop, &["wear", "coarse-foam-150", "--svg", path]);
    assert_eq!(again.status.code(), Some(2));
    assert_eq!(fs::read_to_string(&picture).unwrap(), drawn);
    done(shop, &["wear", "coarse-foam-150", "--svg", path, "--force"]);
}

#[test]
fn a_look_at_a_wash_is_kept_and_a_bin_without_a_reason_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let book = kept_demo(folder.path(), &[]);
    let shop = Shop::Solo(&book);
    let look = "P-04=rebound 4, edge 2, face 5";
    done(shop, &["wash", "P-04", "--look", look]);
    let shown = json(shop, &["kit", "show", "P-04"]);
    assert_eq!(shown["piece"]["pad"]["inspected"]["edgeGrade"], 2);
    let refused = fettle(shop, &["bin", "P-04"]);
    assert_eq!(refused.status.code(), Some(2));
    let said = String::from_utf8(refused.stderr).unwrap();
    assert!(
        said.contains("torn") && said.contains("precaution"),
        "{said}"
    );
    done(shop, &["bin", "P-04", "--because", "torn"]);
}
