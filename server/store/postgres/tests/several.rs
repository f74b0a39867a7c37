//! Several books in one engine: which there are, whose codes were made lately, and what they have in common.

use std::fs;

use super::*;
use crate::store::EngineBook;
use crate::store::postgres::seal::SEAL_FILE;

fn begun(place: &Place, name: Option<&str>) -> Uuid {
    let engine = EngineBook {
        url: &place.url,
        authority: None,
        node: place.node.path(),
        book: None,
        address: None,
    };
    engine.begin_another(name).unwrap()
}

#[test]
fn books_begin_beside_each_other_and_are_told_by_name() {
    let Some(place) = Place::new() else { return };
    let first = begun(&place, Some("north"));
    assert!(!place.store(None).has_several().unwrap());
    let books = [first, begun(&place, None)];
    let listed = place.store(None).books().unwrap();
    let ids: Vec<Uuid> = listed.iter().map(|book| book.id).collect();
    assert_eq!(ids, books);
    let today = place.ask("SELECT to_char(now(), 'YYYY-MM-DD')");
    let told = format!("{}  north, 0 entries, since {today}", books[0]);
    assert_eq!(listed[0].to_string(), told);
    assert!(listed[1].to_string().contains("  no name, "));
    let moved = format!(
        "UPDATE fettle.book SET moved = '{{}}' WHERE id = '{}'",
        books[0]
    );
    drop(place.ask(&format!("{moved} RETURNING 1")));
    assert_eq!(place.store(None).books().unwrap().len(), 1);
    // What everyone is shown stays what it was.
    assert!(place.store(None).has_several().unwrap());
}

#[test]
fn codes_are_looked_at_that_were_written_lately_whosever_they_are() {
    let Some(place) = Place::new() else { return };
    let (one, two) = (begun(&place, None), begun(&place, None));
    let store = place.store(None);
    let write = |book: Uuid, text: &str| {
        let cabinet = store.cabinet_of(book);
        cabinet.read(Paper::Codes).unwrap();
        cabinet.write(Paper::Codes, text.as_bytes()).unwrap();
        cabinet.write(Paper::Devices, b"devices").unwrap();
    };
    write(one, "1");
    write(two, "2");
    let lately = || store.code_papers().lately().unwrap();
    assert_eq!(lately(), [(two, b"2".to_vec()), (one, b"1".to_vec())]);
    let aged = "UPDATE fettle.paper SET written_at = now() - interval '2 h' WHERE book = ";
    drop(place.ask(&format!("{aged}'{two}' RETURNING 1")));
    assert_eq!(lately(), [(one, b"1".to_vec())]);
    // One more code of that book: over what was read, and by whoever has not looked.
    write(two, "3");
    assert_eq!(lately(), [(two, b"3".to_vec()), (one, b"1".to_vec())]);
    drop(place.ask(&format!("{aged}'{two}' RETURNING 1")));
    let unread = store.cabinet_of(two);
    unread.write(Paper::Codes, b"4").unwrap();
    assert_eq!(lately()[0], (two, b"4".to_vec()));
}

#[test]
fn what_all_have_in_common_is_sealed_and_is_no_book() {
    let Some(place) = Place::new() else { return };
    let book = begun(&place, None);
    let store = place.store(None);
    let all = store.cabinet_of_all();
    all.write(Paper::AuthorityKey, b"the key").unwrap();
    assert_eq!(all.read(Paper::AuthorityKey).unwrap().unwrap(), b"the key");
    let kept =
        place.ask("SELECT book, position('the key' IN encode(bytes, 'escape')) FROM fettle.paper");
    assert_eq!(kept, format!("{}|0", Uuid::nil()));
    assert_eq!(store.books().unwrap().len(), 1);
    assert_eq!(store.cabinet_of(book).read(Paper::AuthorityKey), Ok(None));
    // Another machine has the same once it has the seal, and is told until then.
    let elsewhere = Place {
        url: place.url.clone(),
        node: tempfile::tempdir().unwrap(),
    };
    let there = elsewhere.store(None).cabinet_of_all();
    let refused = there.read(Paper::AuthorityKey).unwrap_err().to_string();
    assert!(refused.contains("sealed on another machine"), "{refused}");
    let seal = |place: &Place| place.node.path().join(SEAL_FILE);
    fs::copy(seal(&place), seal(&elsewhere)).unwrap();
    assert_eq!(
        there.read(Paper::AuthorityKey).unwrap().unwrap(),
        b"the key"
    );
    // No paper is of a book that is not there.
    let astray = store.cabinet_of(Uuid::from_u128(9));
    assert_eq!(astray.read(Paper::Codes), Ok(None));
    let refused = astray.write(Paper::Codes, b"x").unwrap_err().to_string();
    assert!(refused.contains("foreign key"), "{refused}");
}
