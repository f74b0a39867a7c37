//! What a shop begins with, over the wire: whole or not at all, with everything wrong named by a look.

use fettlebook_contract::v1;

use super::{World, assert_told, fresh};
use crate::edge::tests::Answered as _;

fn piece(row: i64, make: &str, count: i64) -> v1::StartPiece {
    v1::StartPiece {
        row,
        make: make.to_owned(),
        piece_count: count,
        ..Default::default()
    }
}

fn start(pieces: Vec<v1::StartPiece>) -> v1::StartRequest {
    v1::StartRequest {
        request_id: fresh(),
        starter_kit: "big-small".to_owned(),
        pieces,
        ..Default::default()
    }
}

fn look(pieces: Vec<v1::StartPiece>) -> v1::StartRequest {
    v1::StartRequest {
        validate_only: true,
        ..start(pieces)
    }
}

#[tokio::test]
async fn the_kits_come_with_what_the_book_has_and_where_each_figure_is_from() {
    let world = World::empty().await;
    let kits = async || {
        let asked = v1::ListStarterKitsRequest {};
        world
            .book()
            .list_starter_kits(asked)
            .answer()
            .await
            .starter_kits
    };
    let before = kits().await;
    let words: Vec<_> = before.iter().map(|kit| kit.starter_kit.as_str()).collect();
    assert_eq!(words, ["big", "big-small", "big-small-pencil"]);
    let coarse = |kits: &[v1::StarterKit]| {
        let mut makes = kits[1].makes.iter();
        let is_it = |one: &&v1::StarterMake| {
            one.make
                .as_ref()
                .is_some_and(|make| make.make == "coarse-foam-150")
        };
        makes.find(is_it).unwrap().clone()
    };
    let shown = coarse(&before);
    assert_eq!((shown.usual_count, shown.held_count), (5, 0));
    let figures: Vec<_> = shown
        .bases
        .iter()
        .map(|basis| (basis.figure.as_str(), basis.basis()))
        .collect();
    assert_eq!(
        figures,
        [
            ("pad.face_mm", v1::Basis::CommonPractice),
            ("pad.rated_work_sections", v1::Basis::Memory),
            ("pad.rated_wash_count", v1::Basis::Memory),
            ("pad.load_sections", v1::Basis::Derived),
            ("pad.dry_time_s", v1::Basis::CommonPractice),
        ]
    );
    let begun = world
        .book()
        .start(start(vec![piece(0, "coarse-foam-150", 3)]))
        .answer()
        .await;
    assert!(begun.entry.unwrap().seq > 0);
    assert_eq!(coarse(&kits().await).held_count, 3);
}

#[tokio::test]
async fn a_start_is_one_entry_that_is_told_before_it_is_recorded() {
    let world = World::empty().await;
    let pieces = vec![piece(0, "coarse-foam-150", 3), piece(0, "orbital-150", 1)];
    let looked = world.book().start(look(pieces.clone())).answer().await;
    let would = looked.entry.unwrap();
    assert_eq!((would.seq, looked.problems.len()), (0, 0));
    let request = start(pieces);
    let did = world
        .book()
        .start(request.clone())
        .answer()
        .await
        .entry
        .unwrap();
    assert_eq!(did.seq, 1);
    let texts = |entry: &v1::Entry| -> Vec<String> {
        entry.deeds.iter().map(|deed| deed.text.clone()).collect()
    };
    assert_eq!(texts(&did), texts(&would));
    let again = world.book().start(request).answer().await;
    assert_eq!(again.entry.unwrap().seq, 1);
}

#[tokio::test]
async fn everything_wrong_is_named_by_its_row_and_nothing_is_set_up() {
    let world = World::empty().await;
    let unreadable = vec![
        v1::StartPiece {
            full_permille: Some(1_001),
            ..piece(2, "fine-polish-500ml", 1)
        },
        v1::StartPiece {
            expiry_date: "soon".to_owned(),
            ..piece(3, "fine-polish-500ml", 1)
        },
        piece(4, "Coarse Foam!", 1),
    ];
    let looked = world.book().start(look(unreadable.clone())).answer().await;
    let found: Vec<_> = looked
        .problems
        .iter()
        .map(|problem| (problem.line, problem.column.as_str()))
        .collect();
    assert_eq!(
        found,
        [(2, "full_permille"), (3, "expiry_date"), (4, "make")]
    );
    let refused = world.book().start(start(unreadable)).await.unwrap_err();
    assert_told(&refused, "QUANTITY_INVALID", "full_permille");
    let unknown = look(vec![piece(7, "velvet-150", 1), piece(9, "velvet-80", 1)]);
    let looked = world.book().start(unknown).answer().await;
    let rows: Vec<_> = looked.problems.iter().map(|problem| problem.line).collect();
    assert_eq!(rows, [7, 9]);
    let head = world
        .book()
        .get_book(v1::GetBookRequest::default())
        .answer()
        .await
        .head_seq;
    assert_eq!(head, 0);
}
