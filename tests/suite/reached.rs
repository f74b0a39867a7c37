//! A service that is reached at several addresses: a device finds it wherever it answers, by real binaries.

use serde_json::json;

use crate::access::{Running, code_of, ended};
use crate::opened::Machine;
use crate::ports::free;

#[test]
fn a_device_follows_its_shop_from_one_address_to_the_other() {
    let folder = tempfile::tempdir().unwrap();
    let book = folder.path().join("book");
    let (listens, road) = (free(), free());
    let yard = listens.replace("127.0.0.1", "localhost");
    let told = format!("{yard},{road}");
    let serve = |listen: &str| Running::start(&["--listen", listen, "--reached-at", &told], &book);
    let first = serve(&listens);
    let made = ended(&["pair", "--name", "van-a", "--role", "own"], &book);
    let code = code_of(&made);
    assert_eq!(
        code.address, yard,
        "a code has the address that is told first"
    );
    let van = Machine::new();
    van.done(&["shop", "pair", &code.to_string()]);
    let way = van.json(&["shop", "where"]);
    assert_eq!(way["addresses"], json!([yard, road]), "{way}");
    assert_eq!(way["reached"], true);
    first.stop();
    let way = van.json(&["shop", "where"]);
    assert_eq!(way["reached"], false, "{way}");
    assert!(
        way["why"].as_str().unwrap().contains("not running"),
        "{way}"
    );

    let second = serve(&road);
    van.done(&["book", "set", "dot_ul=260"]);
    let way = van.json(&["shop", "where"]);
    assert_eq!(
        way["addresses"],
        json!([road, yard]),
        "where it was reached last goes first"
    );
    let shown = van.done(&["shop", "where"]);
    for (row, value) in [
        ("Shop at", &road),
        ("Else at", &yard),
        ("Reached", &"yes, now".to_owned()),
    ] {
        let line = shown.lines().find(|line| line.starts_with(row));
        assert!(
            line.is_some_and(|line| line.contains(value.as_str())),
            "{row}: {shown}"
        );
    }
    second.stop();

    // A service that names no address any more is looked for where the device was paired with it.
    let third = Running::start(&["--listen", &listens, "--tls"], &book);
    van.done(&["shop", "where"]);
    assert_eq!(van.json(&["shop", "where"])["addresses"], json!([yard]));
    third.stop();
}
