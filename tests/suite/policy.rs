//! What a shop does after its policy changed, with the real binaries: makes keep what they took from it,
//! are listed beside today's, and take it over on yes.

use serde_json::Value;

use crate::binaries::{Shop, done, fettle, json, kept_demo};

#[test]
fn makes_take_todays_policy_over_when_somebody_says_so() {
    let folder = tempfile::tempdir().unwrap();
    let book = kept_demo(folder.path(), &[]);
    let shop = Shop::Solo(&book);
    let renew = ["book", "policy", "--renew"];
    assert!(done(shop, &renew).contains("as the policy gives it"));

    done(shop, &["make", "edit", "coarse-foam-150", "--load", "16"]);
    done(
        shop,
        &[
            "book",
            "set",
            "rating_coarse_foam_sections=300",
            "load_coarse_foam_sections=20",
        ],
    );
    let rated = || json(shop, &["make", "show", "coarse-foam-150"])["make"]["pad"].clone();
    let told = fettle(shop, &renew);
    assert!(told.status.success());
    let page = String::from_utf8(told.stdout).unwrap();
    let row = page.lines().find(|line| line.contains("coarse-foam-150"));
    let row = row
        .unwrap()
        .split_whitespace()
        .collect::<Vec<_>>()
        .join(" ");
    let expected = "coarse-foam-150 Rated work 185 reference sections 300 reference sections";
    assert_eq!(row, expected);
    let said = String::from_utf8(told.stderr).unwrap();
    assert!(said.contains("Nothing was changed"), "{said}");
    assert_eq!(rated()["ratedWorkSections"], "185");
    let page = done(shop, &["make", "show", "coarse-foam-150"]);
    let shown: Vec<&str> = page.lines().collect();
    let of = |label: &str| *shown.iter().find(|line| line.contains(label)).unwrap();
    assert!(of("Rated work").ends_with("by an earlier policy"), "{page}");
    assert!(of("Rated washes").ends_with("by policy"), "{page}");
    assert!(of("Works").ends_with("before a change"), "{page}");

    let listed = json(shop, &renew);
    assert_eq!(listed["changes"][0]["policyValue"], "300");
    assert_eq!(listed["entries"], Value::Array(Vec::new()));
    let written = json(shop, &["book", "policy", "--renew", "--yes"]);
    assert!(!written["entries"].as_array().unwrap().is_empty());
    // What somebody gave stays.
    let rated = rated();
    assert_eq!(
        (&rated["ratedWorkSections"], &rated["loadSections"]),
        (&Value::from("300"), &Value::from("16"))
    );
    assert!(done(shop, &renew).contains("as the policy gives it"));
}
