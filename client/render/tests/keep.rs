//! The screens of backups, restores and mends, at 80 columns.

use fettlebook_contract::v1::VerifyBookResponse;

use crate::render::keep;
use crate::render::scenario::{plain, screen};
use crate::solo::{SoloBackup, SoloBeside, SoloHistories, SoloLeftOut, SoloMended};

fn held() -> SoloBackup {
    SoloBackup {
        book_id: "0193".to_owned(),
        incarnation_id: "0193".to_owned(),
        head_seq: 68,
        head_chain: "3521fc9c".repeat(8),
        made_time: "2026-11-26T07:00:00Z".parse().unwrap(),
        file_count: 1,
        byte_count: 52_904,
    }
}

fn whole() -> VerifyBookResponse {
    VerifyBookResponse {
        whole: true,
        entry_count: 68,
        head_chain: "3521fc9c".repeat(8),
        ..VerifyBookResponse::default()
    }
}

fn mended() -> SoloMended {
    SoloMended {
        book_id: "0193".to_owned(),
        head_seq: 68,
        head_chain: "3521fc9c".repeat(8),
        damage: "entry 30 of the journal does not fit the chain: it, or one before it, was changed"
            .to_owned(),
        first_bad_seq: 30,
        taken: vec![(30, 30), (41, 43)],
        left_out: vec![SoloLeftOut {
            file: "journal/000000000001.jsonl".to_owned(),
            offset: 15_838,
            byte_count: 1_334,
            why: "entry 30 in a form that does not fit the chain".to_owned(),
        }],
        histories: SoloHistories::Agree,
        only_torn: false,
    }
}

#[test]
fn a_backup_says_what_it_holds_and_how_to_use_it() {
    let page = keep::backed_up(&screen(80), "/media/stick/book", &held(), "");
    insta::assert_snapshot!(plain(&page), @r"
    verified: 68 entries, 52904 bytes in 1 file, read back and found whole.
    It is in /media/stick/book, and is not opened as a book. To bring the book back
    from it:
      fettle book restore --from /media/stick/book --to DIR
    Chain 3521fc9c3521fc9c3521fc9c3521fc9c3521fc9c3521fc9c3521fc9c3521fc9c
    ");
}

#[test]
fn a_backup_of_a_damaged_book_says_that_it_ends_early() {
    let page = keep::backed_up(&screen(80), "backup", &held(), "entry 69 is missing");
    let page = plain(&page);
    assert!(
        page.contains("entry 69 is missing. The backup holds it up to entry 68."),
        "{page}"
    );
}

#[test]
fn a_restored_book_says_where_it_is_and_from_where_it_goes_on() {
    let page = keep::restored(&screen(80), "/home/me/book", &held(), &whole());
    insta::assert_snapshot!(plain(&page), @r"
    restored: 68 entries from the backup of Thu 26 Nov 2026 08:00.
    The book is in /home/me/book: use it with --book, or put it where the old one
    was. It goes on after entry 68; do not go on with the old one too.
    whole: 68 entries read, nothing wrong.
    Chain 3521fc9c3521fc9c3521fc9c3521fc9c3521fc9c3521fc9c3521fc9c3521fc9c
    ");
}

#[test]
fn a_mend_that_was_not_told_to_write_says_what_it_would_do() {
    let page = keep::mended(&screen(80), ("book", "mended"), &mended(), None);
    insta::assert_snapshot!(plain(&page), @r"
    In book, entry 30 of the journal does not fit the chain: it, or one before it,
    was changed.
    Kept: entries 1 to 68, of which from the backup: entry 30, entries 41 to 43.
    Left out: 1334 bytes.
      1334 bytes of journal/000000000001.jsonl from byte 15838: entry 30 in a form
        that does not fit the chain
    Nothing was written. To make that book in mended, give --write too.
    ");
}

#[test]
fn a_mended_book_says_where_it_is_and_where_the_rest_is() {
    let page = keep::mended(&screen(80), ("book", "mended"), &mended(), Some(&whole()));
    let page = plain(&page);
    let end = page.split("mended.\n").nth(1).unwrap();
    insta::assert_snapshot!(end, @r"
    The book is in mended: use it with --book, or put it where the old one was. It
    goes on after entry 68; do not go on with the old one too.
    What was left out is in mended/left-out.bytes; left-out.txt says where it came
    from.
    whole: 68 entries read, nothing wrong.
    Chain 3521fc9c3521fc9c3521fc9c3521fc9c3521fc9c3521fc9c3521fc9c3521fc9c
    ");
}

#[test]
fn a_mend_says_from_where_on_the_backup_goes_another_way() {
    let told = |histories| {
        let found = SoloMended {
            histories,
            ..mended()
        };
        plain(&keep::mended(&screen(80), ("book", "new"), &found, None))
    };
    assert!(told(SoloHistories::Rewritten(31)).contains("Entry 31 of the backup is another one"));
    let own_way = told(SoloHistories::OtherIncarnation(31));
    assert!(own_way.contains("from entry 31 on"), "{own_way}");
    assert!(own_way.contains("None of those is taken"), "{own_way}");
    assert!(!told(SoloHistories::Agree).contains("entry 31 "));
}

#[test]
fn a_comparison_with_a_backup_says_how_the_two_stand() {
    let page = |histories| {
        let found = SoloBeside {
            backup: held(),
            book_head_seq: 60,
            histories,
        };
        plain(&keep::compared(&screen(80), &whole(), &found))
    };
    insta::assert_snapshot!(page(SoloHistories::Agree), @r"
    whole: 68 entries read, nothing wrong.
    Chain 3521fc9c3521fc9c3521fc9c3521fc9c3521fc9c3521fc9c3521fc9c3521fc9c
    It agrees with the backup of Thu 26 Nov 2026 08:00, which ends at entry 68.
    ");
    insta::assert_snapshot!(page(SoloHistories::Lacks(61)), @r"
    whole: 68 entries read, nothing wrong.
    Chain 3521fc9c3521fc9c3521fc9c3521fc9c3521fc9c3521fc9c3521fc9c3521fc9c
    The book lacks entries 61 to 68 of the backup of Thu 26 Nov 2026 08:00: it ends
    at entry 60. Keep both as they are, and record nothing more until it is settled
    which of the two is right. 'fettle book mend' with --with makes a book of both.
    ");
    insta::assert_snapshot!(page(SoloHistories::Rewritten(31)), @r"
    whole: 68 entries read, nothing wrong.
    Chain 3521fc9c3521fc9c3521fc9c3521fc9c3521fc9c3521fc9c3521fc9c3521fc9c
    Entry 31 of the book is not the one in the backup of Thu 26 Nov 2026 08:00,
    though the lines of each fit each other: one of the two was rewritten from there
    on, or the book was cut and went on. Keep both as they are, and record nothing
    more until it is settled which of the two is right.
    ");
    insta::assert_snapshot!(page(SoloHistories::OtherIncarnation(31)), @r"
    whole: 68 entries read, nothing wrong.
    Chain 3521fc9c3521fc9c3521fc9c3521fc9c3521fc9c3521fc9c3521fc9c3521fc9c
    In the backup of Thu 26 Nov 2026 08:00 other entries follow from entry 31 on: it
    is from before or after the book was restored or mended, and from there on each
    goes its own way, which is no damage.
    ");
}
