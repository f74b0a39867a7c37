//! The import of a notebook: whole or not at all, with everything wrong named by a look.

use fettlebook_contract::v1;
use fettlebook_contract::v1::piece::State;
use prost::Message as _;

use super::{World, assert_told, fresh};
use crate::edge::tests::Answered as _;

fn row(line: i64, tag: &str) -> v1::PadRow {
    v1::PadRow {
        line,
        tag: tag.to_owned(),
        make: "coarse-foam-150".to_owned(),
        job_count: Some(6),
        ..Default::default()
    }
}

fn binned(line: i64, tag: &str) -> v1::PadRow {
    v1::PadRow {
        readiness: v1::Readiness::Binned.into(),
        bin_reason: v1::BinReason::Torn.into(),
        date: "2026-01-31".to_owned(),
        ..row(line, tag)
    }
}

fn import(rows: Vec<v1::PadRow>) -> v1::ImportPadsRequest {
    v1::ImportPadsRequest {
        request_id: fresh(),
        rows,
        ..Default::default()
    }
}

fn look(rows: Vec<v1::PadRow>) -> v1::ImportPadsRequest {
    v1::ImportPadsRequest {
        validate_only: true,
        ..import(rows)
    }
}

async fn answer(world: &World, request: v1::ImportPadsRequest) -> v1::ImportPadsResponse {
    world.book().import_pads(request).answer().await
}

/// Rows of which every second is wrong, some so that they cannot be read.
fn bad_rows() -> Vec<v1::PadRow> {
    vec![
        row(2, "P-21"),
        v1::PadRow {
            make: "velvet-150".to_owned(),
            wash_count: -1,
            ..row(3, "P-22")
        },
        v1::PadRow {
            date: "yesterday".to_owned(),
            work_micro_sections: Some(1),
            ..row(4, "pad seven")
        },
        row(5, "p-21"),
        v1::PadRow {
            make: "coarse-compound-1-l".to_owned(),
            ..row(6, "P-23")
        },
        v1::PadRow {
            bin_reason: 0,
            ..binned(7, "P-24")
        },
        row(8, "P-01"),
        v1::PadRow {
            date: "2030-01-01".to_owned(),
            ..row(9, "P-25")
        },
    ]
}

#[tokio::test]
async fn a_notebook_is_taken_over_in_one_entry_and_counts_from_then_on() {
    let world = World::shop().await;
    let soiled = v1::PadRow {
        readiness: v1::Readiness::Soiled.into(),
        place: "van-a".to_owned(),
        wash_count: 2,
        ..row(3, "P-22")
    };
    let request = import(vec![binned(2, "P-21"), soiled]);
    let told = answer(&world, request).await;
    assert_eq!(told.problems, []);
    let entry = told.entry.unwrap();
    assert_eq!((entry.seq, entry.deeds.len()), (16, 2));
    let torn = "P-21 was taken over as coarse-foam-150, binned, torn.";
    assert_eq!(entry.deeds[0].text, torn);

    let piece = world.piece("P-22").await;
    assert_eq!(
        (piece.place.as_str(), piece.readiness()),
        ("van-a", v1::Readiness::Soiled)
    );
    let Some(State::Pad(pad)) = piece.state else {
        panic!()
    };
    assert_eq!(
        (pad.work_micro_sections, pad.use_count, pad.wash_count),
        (108_000_000, 6, 2)
    );
    let piece = world.piece("P-21").await;
    assert_eq!(
        (piece.readiness(), piece.bin_reason()),
        (v1::Readiness::Binned, v1::BinReason::Torn)
    );
    assert_eq!(piece.received_time, super::stamp("2026-01-31T12:00:00Z"));
    let wear = world
        .kit()
        .list_make_wear(v1::ListMakeWearRequest::default())
        .await;
    let make = &wear.unwrap().into_inner().wear[0];
    assert_eq!((make.failure_count, make.in_service_count), (1, 7));

    let request = v1::ReverseEntryRequest {
        request_id: fresh(),
        seq: entry.seq,
        ..Default::default()
    };
    world.book().reverse_entry(request).await.unwrap();
    let gone = v1::GetPieceRequest {
        tag: "P-21".to_owned(),
    };
    let status = world.kit().get_piece(gone).await.unwrap_err();
    assert_told(&status, "TAG_UNKNOWN", "tag");
}

#[tokio::test]
async fn a_look_names_everything_wrong_by_line_and_records_nothing() {
    let world = World::shop().await;
    let before = world.journal();
    let told = answer(&world, look(bad_rows())).await;
    assert_eq!(told.entry, None);
    let named: Vec<_> = told
        .problems
        .iter()
        .map(|problem| (problem.line, problem.column.as_str()))
        .collect();
    let expected = [
        (3, "make"),
        (3, "washes"),
        (4, "tag"),
        (4, "jobs"),
        (4, "date"),
        (5, "tag"),
        (6, "make"),
        (7, "reason"),
        (8, "tag"),
        (9, "date"),
    ];
    assert_eq!(named, expected);
    for problem in &told.problems {
        assert!(
            problem.text.ends_with('.') && problem.text.len() > 5,
            "{problem:?}"
        );
        assert!(
            problem.todo.is_empty() || problem.todo.ends_with('.'),
            "{problem:?}"
        );
    }
    assert_eq!(world.journal(), before);
}

#[tokio::test]
async fn a_look_at_a_good_notebook_says_what_the_import_will_and_records_nothing() {
    let world = World::shop().await;
    let before = world.journal();
    let rows = vec![row(2, "P-21"), binned(3, "P-22")];
    let told = answer(&world, look(rows.clone())).await;
    assert_eq!(
        (told.problems.len(), told.entry.as_ref().unwrap().seq),
        (0, 0)
    );
    assert_eq!(world.journal(), before);
    let entry = answer(&world, import(rows)).await.entry.unwrap();
    assert_eq!(entry.deeds, told.entry.unwrap().deeds);
}

#[tokio::test]
async fn an_import_names_the_first_bad_line_and_how_many_more_problems_there_are() {
    let world = World::shop().await;
    let before = world.journal();
    let status = world
        .book()
        .import_pads(import(bad_rows()))
        .await
        .unwrap_err();
    assert_told(&status, "MAKE_UNKNOWN", "rows[3].make");
    let what = status.message();
    assert!(what.starts_with("Line 3: "), "{what}");
    assert!(what.contains("There are 9 more problems."), "{what}");
    // And so where all can be read, or none can.
    let readable: Vec<_> = bad_rows()
        .into_iter()
        .filter(|row| ![4, 7].contains(&row.line))
        .collect();
    let status = world
        .book()
        .import_pads(import(readable))
        .await
        .unwrap_err();
    assert_told(&status, "MAKE_UNKNOWN", "rows[3].make");
    assert!(
        status.message().contains("There are 5 more problems."),
        "{}",
        status.message()
    );
    let unreadable = bad_rows().into_iter().filter(|row| row.line == 4).collect();
    let status = world
        .book()
        .import_pads(import(unreadable))
        .await
        .unwrap_err();
    assert_told(&status, "FIELD_INVALID", "rows[4].tag");
    assert!(
        status.message().contains("There are 2 more problems."),
        "{}",
        status.message()
    );
    assert_eq!(world.journal(), before);
}

#[tokio::test]
async fn a_bad_cell_is_refused_with_its_reason() {
    let world = World::shop().await;
    let (before, mut book) = (world.journal(), world.book());
    let one = |change: &dyn Fn(&mut v1::PadRow)| {
        let mut row = row(2, "P-21");
        change(&mut row);
        import(vec![row])
    };
    let aside = v1::Readiness::Aside.into();
    let many = import(
        (1..=501)
            .map(|at| row(at, &format!("P-{}", 100 + at)))
            .collect(),
    );
    let long = v1::ImportPadsRequest {
        note: "x".repeat(501),
        ..import(vec![row(2, "P-21")])
    };
    let nameless = v1::ImportPadsRequest {
        request_id: String::new(),
        ..import(vec![row(2, "P-21")])
    };
    let nothing = look(Vec::new());
    refused! {
        book.import_pads(import(Vec::new())) => "FIELD_MISSING" "rows";
        book.import_pads(nothing) => "FIELD_MISSING" "rows";
        book.import_pads(many) => "FIELD_INVALID" "rows";
        book.import_pads(long) => "FIELD_INVALID" "note";
        book.import_pads(nameless) => "FIELD_MISSING" "request_id";
        book.import_pads(one(&|row| row.tag.clear())) => "FIELD_MISSING" "rows[2].tag";
        book.import_pads(one(&|row| row.tag = "P-01".to_owned())) => "TAG_TAKEN" "rows[2].tag";
        book.import_pads(one(&|row| row.make.clear())) => "FIELD_MISSING" "rows[2].make";
        book.import_pads(one(&|row| row.make = "orbital-150".to_owned())) => "WRONG_SORT" "rows[2].make";
        book.import_pads(one(&|row| row.place = "Van A!".to_owned())) => "FIELD_INVALID" "rows[2].place";
        book.import_pads(one(&|row| row.job_count = Some(-1))) => "QUANTITY_INVALID" "rows[2].jobs";
        book.import_pads(one(&|row| {
            row.job_count = None;
            row.work_micro_sections = Some(i64::MAX);
        })) => "QUANTITY_INVALID" "rows[2].work";
        book.import_pads(one(&|row| row.wash_count = i64::MIN)) => "QUANTITY_INVALID" "rows[2].washes";
        book.import_pads(one(&|row| row.readiness = 77)) => "FIELD_INVALID" "rows[2].status";
        book.import_pads(one(&|row| row.readiness = v1::Readiness::Drying.into())) => "FIELD_INVALID" "rows[2].status";
        book.import_pads(one(&|row| row.readiness = aside)) => "FIELD_MISSING" "rows[2].reason";
        book.import_pads(one(&|row| row.aside_reason = v1::AsideReason::Dropped.into())) => "FIELD_INVALID" "rows[2].reason";
        book.import_pads(one(&|row| {
            row.readiness = aside;
            row.aside_reason = v1::AsideReason::Dropped.into();
            row.bin_reason = v1::BinReason::Torn.into();
        })) => "FIELD_INVALID" "rows[2].reason";
        book.import_pads(one(&|row| row.date = "31.1.2026".to_owned())) => "FIELD_INVALID" "rows[2].date";
        book.import_pads(one(&|row| row.date = "1999-12-31".to_owned())) => "FIELD_INVALID" "rows[2].date";
        book.import_pads(one(&|row| row.date = "2026-06-05".to_owned())) => "TIME_FUTURE" "rows[2].date";
    }
    assert_eq!(world.journal(), before);
}

#[tokio::test]
async fn a_retried_import_gets_the_same_bytes_and_counts_once() {
    let world = World::shop().await;
    let request = import(vec![row(2, "P-21")]);
    let first = answer(&world, request.clone()).await;
    let after = world.journal();
    world.clock.shift(3_600);
    let again = answer(&world, request.clone()).await;
    assert_eq!(again.encode_to_vec(), first.encode_to_vec());
    assert_eq!(world.journal(), after);
    let other = v1::ImportPadsRequest {
        rows: vec![row(2, "P-22")],
        ..request.clone()
    };
    let status = world.book().import_pads(other).await.unwrap_err();
    assert_told(&status, "REQUEST_ID_REUSED", "request_id");
    // The same id with rows that cannot be read is no retry either.
    let unreadable = v1::ImportPadsRequest {
        rows: vec![row(2, "pad seven")],
        ..request
    };
    let status = world.book().import_pads(unreadable).await.unwrap_err();
    assert_told(&status, "REQUEST_ID_REUSED", "request_id");
    assert_eq!(world.journal(), after);
}

/// A look uses no request id up.
#[tokio::test]
async fn the_request_id_of_a_look_is_free_for_the_import() {
    let world = World::shop().await;
    let request = look(vec![row(2, "P-21")]);
    answer(&world, request.clone()).await;
    let import = v1::ImportPadsRequest {
        validate_only: false,
        ..request
    };
    assert_eq!(answer(&world, import).await.entry.unwrap().seq, 16);
}
