//! Entries of other programs: later ones told from spoilt ones, and what they hold kept.

use std::path::Path;

use fettlebook_model::format::DEED_KINDS;
use fettlebook_model::job::Job;
use fettlebook_model::policy::{Policy, PolicyKey};
use fettlebook_model::tool::{ToolKind, ToolNeed};
use fettlebook_model::{Command, Deed, Entry, Format, Record, Subject, Unread};
use serde_json::{Value, json};

use crate::shop::{Shop, battery, id, make, saloon_job, tool};

/// An entry with these deeds, as JSON.
fn entry(deeds: &Value) -> Value {
    json!({
        "seq": 7,
        "recorded_at": "2026-03-02T08:00:00Z",
        "done_at": "2026-03-02T08:00:00Z",
        "request": "01a2249c-1a52-71ac-8e2e-1bfee5a0e320",
        "body": "00000000000000000000000000000000",
        "by": "van-a",
        "deeds": deeds,
    })
}

fn bytes(entry: &Value) -> Vec<u8> {
    let Value::Object(mut members) = entry.clone() else {
        panic!("{entry}");
    };
    let seq = members.remove("seq").unwrap();
    let rest = serde_json::to_string(&members).unwrap();
    format!("{{\"seq\":{seq},{}", &rest[1..]).into_bytes()
}

#[test]
fn the_kinds_of_deeds_are_the_ones_that_are_read() {
    let error = serde_json::from_str::<Deed>(r#"{"did":"?"}"#).unwrap_err();
    let read: Vec<_> = DEED_KINDS.iter().map(|kind| format!("`{kind}`")).collect();
    let said = format!("expected one of {}", read.join(", "));
    assert!(error.to_string().contains(&said), "{error}");
}

/// The verifier that shares nothing with the product says of the same entries that they are later ones.
#[test]
fn the_independent_verifier_knows_the_same_kinds_and_formats() {
    let script = include_str!("../../../../tests/verify_journal.py");
    let (_, kinds) = script.split_once("KINDS = \"\"\"").unwrap();
    let (kinds, _) = kinds.split_once("\"\"\"").unwrap();
    assert_eq!(kinds.split_whitespace().collect::<Vec<_>>(), DEED_KINDS);
    assert!(script.contains(&format!("\nFORMAT = {} ", Format::NEWEST)));
}

/// The journals of `tests/journals` have every kind in them, so that each stays readable.
#[test]
fn every_kind_of_deed_is_in_a_journal_that_is_kept() {
    let journals = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/journals");
    let mut missing: Vec<&str> = DEED_KINDS.to_vec();
    for kept in std::fs::read_dir(journals).unwrap() {
        let file = kept.unwrap().path().join("book/journal/000000000001.jsonl");
        let text = std::fs::read_to_string(file).unwrap();
        missing.retain(|kind| !text.contains(&format!("{{\"did\":\"{kind}\"")));
    }
    assert_eq!(missing, [""; 0]);
}

#[test]
fn an_entry_of_a_later_program_is_told_from_one_that_is_spoilt() {
    let washed = json!([{"did": "washed", "tag": "P-01", "dry_s": 60}]);
    let plain = entry(&washed);
    assert_eq!(Entry::read(&bytes(&plain)).unwrap().format, Format::FIRST);

    let mut later = plain.clone();
    let newest: u32 = Format::NEWEST.to_string().parse().unwrap();
    later["format"] = json!(newest + 1);
    let unread = Entry::read(&bytes(&later)).unwrap_err();
    assert!(matches!(unread, Unread::NewerFormat(_)), "{unread}");
    assert_eq!(
        unread.to_string(),
        format!(
            "was written by a later fettle, in format {}, and this one reads up to format {newest}: update \
             this one",
            newest + 1
        )
    );
    later["deeds"] = json!("of another form");
    assert!(Entry::read(&bytes(&later)).unwrap_err().is_newer());

    let lent = json!([washed[0], {"did": "lent", "tag": "P-01"}]);
    let unread = Entry::read(&bytes(&entry(&lent))).unwrap_err();
    assert_eq!(unread, Unread::NewerDeed("lent".to_owned()));

    let half = json!([{"did": "washed", "tag": "P-01"}]);
    let unread = Entry::read(&bytes(&entry(&half))).unwrap_err();
    assert!(!unread.is_newer(), "{unread}");
    assert!(!Entry::read(b"{").unwrap_err().is_newer());
}

/// Programs of the first format know neither the key nor what it means; all other entries stay theirs.
#[test]
fn an_entry_with_a_policy_of_the_second_format_says_so() {
    let set = |key| Deed::PolicySet {
        key,
        value: Some(20),
    };
    assert_eq!(Format::of(&[], false), Format::FIRST);
    assert_eq!(
        Format::of(&[set(PolicyKey::DemandWeeks)], false),
        Format::FIRST
    );
    let second = Format::of(
        &[set(PolicyKey::DemandWeeks), set(PolicyKey::LivesHalvePads)],
        false,
    );
    assert_eq!(second.to_string(), "2");
    let mut policy = Policy::default();
    policy.put(PolicyKey::LivesHalvePads, Some(20));
    let restated = Deed::Restated {
        subject: Subject::Policy,
        record: Some(Record::Policy(policy.into())),
    };
    assert_eq!(Format::of(&[restated], false), second);
}

#[test]
fn a_policy_that_the_second_format_does_not_know_is_of_the_third() {
    let bring = Deed::PolicySet {
        key: PolicyKey::BringTimeS,
        value: Some(3_600),
    };
    assert_eq!(Format::of(&[bring], false).to_string(), "3");
    let mut policy = Policy::default();
    policy.put(PolicyKey::BringTimeS, Some(3_600));
    let restated = Deed::Restated {
        subject: Subject::Policy,
        record: Some(Record::Policy(policy.into())),
    };
    assert_eq!(Format::of(&[restated], false).to_string(), "3");
}

/// What an earlier program would not understand, or would set without, is marked so in each entry that
/// holds it, and no other entry is.
#[test]
fn what_an_earlier_program_does_not_know_is_of_the_second_format() {
    let mut shop = Shop::stocked();
    let gauge = make("film-gauge", tool(ToolKind::FilmGauge));
    let made = shop.say(Command::CreateMake { make: gauge }).format;
    shop.receive("film-gauge", 1);
    let came = shop.entries.last().unwrap().format;
    let moved = shop.move_to("TL-01", "van-a").format;
    let back = shop.reverse(shop.book.head()).unwrap().format;
    let was = shop.book.routine(&id("two-step")).unwrap();
    let was = was.as_ref().clone();
    let mut routine = was.clone();
    routine.tools = vec![ToolNeed {
        make: id("film-gauge"),
        must: false,
    }];
    let named = shop.say(Command::EditRoutine { was, routine }).format;
    let formats = [made, came, back, named].map(|format| format.to_string());
    assert_eq!(formats, ["2"; 4]);
    assert_eq!(moved, Format::FIRST);
}

/// A program of the second format that edits the job would set it without its person.
#[test]
fn a_job_that_names_who_works_it_is_of_the_third_format() {
    let mut shop = Shop::stocked();
    let job = saloon_job("thursday", "2026-03-05 08:00");
    let nobody = shop.say(Command::BookJob { job }).format;
    let was = Job::clone(shop.book.job(&id("thursday")).unwrap());
    let job = Job {
        person: "the owner".to_owned(),
        ..was.clone()
    };
    let named = shop.say(Command::EditJob { was, job }).format;
    let taken_back = shop.reverse(shop.book.head()).unwrap().format;
    assert_eq!([nobody, taken_back], [Format::FIRST; 2]);
    assert_eq!(named.to_string(), "3");
}

/// A program of the third format would not know a battery, and would set the job without what its log said.
#[test]
fn what_is_said_of_batteries_is_of_the_fourth_format() {
    let mut shop = Shop::stocked();
    let make = make("battery-18", battery(&["orbital-150"], 400));
    let made = shop.say(Command::CreateMake { make }).format;
    shop.receive("battery-18", 1);
    let came = shop.entries.last().unwrap().format;
    let moved = shop.move_to("BT-01", "bench").format;
    let charged = shop.charge("BT-01").format;
    shop.book_saloon("thursday", "2026-03-05 08:00");
    let booked = shop.entries.last().unwrap().format;
    shop.go_to("2026-03-05 15:00");
    let battery = shop.piece("BT-01").tag;
    let log = shop.log_as("thursday", |log| log.batteries = vec![(battery, 0)]);
    let logged = log.unwrap().format;
    let back = shop.reverse(shop.book.head()).unwrap().format;
    let fourth = [made, came, charged, logged, back].map(|format| format.to_string());
    assert_eq!(fourth, ["4"; 5]);
    assert_eq!([moved, booked], [Format::FIRST; 2]);
}

/// The story: the bench has a later `fettled` than the one that serves now, and wrote members that
/// this one does not know: a place in an entry, a shelf and a deposit of a make, who saw a flag.
#[test]
fn what_is_not_known_stays_where_prices_go_unless_it_is_money() {
    let money = json!({"amount": "2.50", "currency": "EUR"});
    let make = json!({
        "id": "panel-wipe-1l",
        "name": "panel wipe 1 L",
        "price": {"amount": "14.00", "currency": "EUR"},
        "pack_count": 1,
        "ghs": [],
        "note": "",
        "figures": {"sundry": {"unit": "microlitre", "pack_quantity": 1_000_000, "cap": "blue"}},
        "shelf": "by the door",
        "deposit": money,
        "returns": [{"of": money}],
    });
    let order = json!({"did": "order_closed", "order": "order-1", "why": "late"});
    let mut whole = entry(&json!([{"did": "make_set", "make": make, "seen_by": 2}, order]));
    whole["post"] = json!("bay 2");
    whole["spent"] = money;
    whole["flags"] = json!([
        {"subject": "make/panel-wipe-1l", "text": "t", "count": false, "seen": "van-b"},
        {"subject": "order/order-1", "text": "t", "count": false},
    ]);
    let stripped = Entry::bytes_without_prices(&bytes(&whole)).unwrap();
    assert!(stripped.starts_with(b"{\"seq\":7,"));
    let left: Value = serde_json::from_slice(&stripped).unwrap();

    let deed = &left["deeds"][0];
    assert_eq!(
        (&left["post"], &deed["seen_by"]),
        (&json!("bay 2"), &json!(2))
    );
    assert_eq!(deed["make"]["shelf"], "by the door");
    assert_eq!(deed["make"]["figures"]["sundry"]["cap"], "blue");
    assert_eq!(left["flags"][0]["seen"], "van-b");
    assert_eq!(left["deeds"].as_array().unwrap().len(), 1);
    assert_eq!(left["flags"].as_array().unwrap().len(), 1);
    let text = String::from_utf8(stripped.clone()).unwrap();
    for gone in ["EUR", "14.00", "deposit", "spent", "order-1"] {
        assert!(!text.contains(gone), "{gone}: {text}");
    }
    let read = Entry::read(&bytes(&whole)).unwrap().without_prices();
    assert_eq!(Entry::read(&stripped).unwrap(), read);
}
