//! Deeds that a shop refused, read whole, mended on the device and sent: real binaries.

use jiff::Timestamp;
use serde_json::Value;

use crate::opened::{Machine, Service, buy_pads, said, typed_code};
use crate::ports::free;

/// A van kept two washes without signal, of a pad that nobody has and of one that there is, and is back.
fn back_with_a_mistake(bench: &Machine, van: &Machine) -> Service {
    let listen = free();
    buy_pads(bench);
    let opened = bench.json(&["shop", "open", "van-a", "--listen", &listen]);
    let service = Service::of(&opened);
    van.done(&["shop", "pair", typed_code(&opened, 0)]);
    service.stop();
    let refused = van.run(&["wash", "P-99"]);
    assert_eq!(refused.status.code(), Some(4), "{}", said(&refused));
    assert!(
        said(&refused).contains("Nothing was recorded or kept"),
        "{}",
        said(&refused)
    );
    van.done(&["--yes", "wash", "P-99", "--note", "after the red one"]);
    van.done(&["wash", "P-01"]);
    let opened = bench.json(&["shop", "open", "--listen", &listen]);
    Service::of(&opened)
}

fn parked(van: &Machine) -> Vec<Value> {
    let told = van.json(&["shop", "parked"]);
    told["parked"].as_array().unwrap().clone()
}

fn one_line(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn moment(told: &Value) -> Timestamp {
    told.as_str().unwrap().parse().unwrap()
}

fn washes_of(bench: &Machine, tag: &str) -> Vec<Value> {
    let about = bench.json(&["book", "entries", "--about", tag, "--by", "van-a"]);
    about["entries"].as_array().unwrap().clone()
}

#[test]
fn a_parked_deed_is_read_mended_and_sent_with_the_time_that_it_was_done_at() {
    let (bench, van) = (Machine::new(), Machine::new());
    let _service = back_with_a_mistake(&bench, &van);
    let synced = one_line(&van.done(&["shop", "sync"]));
    assert!(synced.contains("has the tag P-99."), "{synced}");
    assert_eq!(washes_of(&bench, "P-01").len(), 1, "it held up none");
    let held = parked(&van);
    assert_eq!(held.len(), 1, "{held:?}");
    let number = held[0]["number"].to_string();
    let whole = one_line(&van.done(&["shop", "parked", &number]));
    for told in ["wash P-99", "has the tag P-99.", "after the red one"] {
        assert!(whole.contains(told), "{told}: {whole}");
    }
    // A name that does not stand in it mends nothing, and the deed stays as it is.
    let other = van.run(&["shop", "parked", &number, "--instead", "P-77=P-03"]);
    assert_eq!(other.status.code(), Some(2), "{}", said(&other));
    assert!(said(&other).contains("names no P-77"), "{}", said(&other));
    // Another mistake is parked again under a number of its own.
    let wrong = van.run(&["shop", "parked", &number, "--instead", "P-99=P-98"]);
    assert_eq!(wrong.status.code(), Some(5), "{}", said(&wrong));
    let told = one_line(&said(&wrong));
    assert!(
        told.contains("refused too: ") && told.contains("P-98."),
        "{told}"
    );
    let held = parked(&van);
    let again = held[0]["number"].to_string();
    assert!(held.len() == 1 && again != number, "{held:?}");
    let told = held[0]["told"].as_str().unwrap();
    assert!(told.contains("P-98") && !told.contains("P-99"), "{told}");
    let sent = van.json(&["shop", "parked", &again, "--instead", "P-98=P-03"]);
    assert!(parked(&van).is_empty());
    let entries = washes_of(&bench, "P-03");
    assert_eq!(entries.len(), 1, "{entries:?}");
    let entry = &entries[0];
    assert_eq!(entry["seq"], sent["seq"].to_string().as_str());
    assert_eq!(entry["note"], "after the red one");
    // It is a deed of its own.
    assert_eq!(entry["kept"]["number"], sent["number"].to_string().as_str());
    assert_ne!(entry["requestId"], held[0]["request"]["requestId"]);
    assert_eq!(
        moment(&entry["doneTime"]),
        moment(&entry["kept"]["keptTime"])
    );
    assert_eq!(moment(&entry["doneTime"]), moment(&held[0]["keptTime"]));
    let twice = van.run(&["shop", "parked", &again, "--instead", "P-98=P-04"]);
    assert_eq!(twice.status.code(), Some(5), "{}", said(&twice));
    assert!(washes_of(&bench, "P-04").is_empty());
}
