//! Tools and steps by hand with the real binaries: set up, received, checked, exported and taken over.

use std::path::Path;

use serde_json::Value;

use crate::binaries::{Shop, done, fettle, json, kept_demo};

/// The lines about this in the check of a job.
fn lines(shop: Shop<'_>, job: &str, kind: &str) -> Vec<Value> {
    let output = fettle(shop, &["--json", "check", job]);
    let check: Value = serde_json::from_slice(&output.stdout).unwrap();
    let lines = check["checks"][0]["lines"].as_array().unwrap().clone();
    let wanted = |line: &Value| line["kind"] == format!("CHECK_LINE_KIND_{kind}");
    lines.into_iter().filter(wanted).collect()
}

fn book_job(shop: Shop<'_>, job: &str, routine: &str) {
    let car = "medium-saloon-silver";
    done(
        shop,
        &[
            "job",
            "add",
            job,
            "--car",
            car,
            "--routine",
            routine,
            "--start",
            "+2 h",
        ],
    );
}

/// Sets up applicators, and a routine that works the roof by hand.
fn by_hand(shop: Shop<'_>) {
    done(
        shop,
        &[
            "make",
            "add",
            "pad",
            "hand-applicator",
            "--material",
            "applicator",
            "--grade",
            "fine",
            "--face",
            "90 mm",
            "--price",
            "2.50 EUR",
        ],
    );
    done(shop, &["receive", "hand-applicator", "--count", "3"]);
    done(
        shop,
        &[
            "routine",
            "add",
            "roof-by-hand",
            "--step",
            "finish: by=hand, pad=hand-applicator, liquid=fine-polish-500ml, panels=roof",
            "--towel",
            "edgeless-towel-400g",
        ],
    );
}

#[test]
fn a_tool_of_the_demo_is_checked_set_aside_and_brought_back_with_its_next_check() {
    let folder = tempfile::tempdir().unwrap();
    let book = kept_demo(folder.path(), &[]);
    let shop = Shop::Solo(&book);
    book_job(shop, "one-more", "two-step");
    let verdicts = |shop| -> Vec<Value> {
        let tools = lines(shop, "one-more", "TOOL").into_iter();
        tools.map(|line| line["verdict"].clone()).collect()
    };
    assert_eq!(verdicts(shop), ["VERDICT_GO"; 3]);
    done(shop, &["kit", "aside", "TL-01", "--because", "inspect"]);
    assert_eq!(verdicts(shop)[0], "VERDICT_WATCH");
    let back = ["kit", "return", "TL-01", "--check-due", "2020-01-31"];
    assert!(done(shop, &back).contains("due again by 2020-01-31"));
    assert_eq!(verdicts(shop)[0], "VERDICT_WATCH");
    let told = done(shop, &["kit", "show", "TL-01"]);
    assert!(
        told.contains("film-gauge") && told.contains("due by"),
        "{told}"
    );
    done(shop, &["bin", "TL-01", "--because", "lost"]);
    done(
        shop,
        &["routine", "edit", "two-step", "--tool", "film-gauge=must"],
    );
    assert_eq!(verdicts(shop), ["VERDICT_STOP"]);
    let told = done(shop, &["routine", "show", "two-step"]);
    assert!(told.contains("film-gauge (must be there)"), "{told}");
}

/// A roof of 75 µm stops the machine; the same panel by hand, with the finest liquid, is planned, checked,
/// logged and costed.
#[test]
fn thin_paint_is_done_by_hand_from_the_plan_to_the_quote() {
    let folder = tempfile::tempdir().unwrap();
    let book = kept_demo(folder.path(), &[]);
    let shop = Shop::Solo(&book);
    by_hand(shop);
    done(
        shop,
        &[
            "car",
            "edit",
            "medium-saloon-silver",
            "--film",
            "roof=75 um",
        ],
    );
    book_job(shop, "by-machine", "finish-only");
    book_job(shop, "by-hand", "roof-by-hand");
    let film = |job| lines(shop, job, "FILM")[0]["verdict"].clone();
    assert_eq!(film("by-machine"), "VERDICT_STOP");
    assert_eq!(film("by-hand"), "VERDICT_WATCH");
    for kind in ["MACHINE", "PLATE"] {
        assert_eq!(lines(shop, "by-hand", kind), [""; 0], "{kind}");
    }
    let plan = done(shop, &["job", "plan", "by-hand"]);
    // 1.42 m² at half a square metre in a quarter of an hour.
    assert!(plan.contains("42 min 36 s by hand"), "{plan}");
    let logged = json(shop, &["log", "by-hand"]);
    let text = logged.to_string();
    assert!(
        text.contains("PAD_USED") && !text.contains("MACHINE_USED"),
        "{text}"
    );
    let cost = json(shop, &["quote", "by-hand", "--inside", "--markup", "0%"]);
    assert!(cost.to_string().contains("hand-applicator"), "{cost}");
    let told = done(shop, &["quote", "by-hand", "--inside", "--markup", "0%"]);
    assert!(told.contains("By hand 42 min 36 s."), "{told}");
}

#[test]
fn tools_and_steps_by_hand_go_through_export_and_import() {
    let folder = tempfile::tempdir().unwrap();
    let book = kept_demo(folder.path(), &[]);
    by_hand(Shop::Solo(&book));
    let sheets = folder.path().join("sheets");
    let sheets_path = sheets.to_str().unwrap();
    done(Shop::Solo(&book), &["book", "export", "--to", sheets_path]);
    let other = folder.path().join("other");
    done(
        Shop::Solo(&other),
        &["book", "import", "--from", sheets_path],
    );
    let same = |words: &[&str]| {
        let of = |book: &Path| {
            let mut document = json(Shop::Solo(book), words);
            // An etag tells states of one book apart; entries and times are of each book.
            for part in ["piece", "routine", "make"] {
                for own in ["etag", "lastSeq", "receivedTime", "landedCost"] {
                    if let Some(fields) = document[part].as_object_mut() {
                        fields.remove(own);
                    }
                }
            }
            document
        };
        let (was, is) = (of(&book), of(&other));
        for part in ["piece", "routine", "make"] {
            assert_eq!(was[part], is[part], "{words:?}");
        }
        was
    };
    let gauge = same(&["kit", "show", "TL-01"]);
    assert_eq!(gauge["piece"]["tool"]["checkDueDate"], "2099-12-31");
    same(&["make", "show", "film-gauge"]);
    let routine = same(&["routine", "show", "two-step"]);
    assert_eq!(routine["routine"]["tools"][0]["make"], "film-gauge");
    let routine = same(&["routine", "show", "roof-by-hand"]);
    assert_eq!(routine["routine"]["steps"][0]["byHand"], true);
}
