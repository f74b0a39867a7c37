//! The list to order by, as a person sees it.

use crate::render::reorder::show;
use crate::render::scenario::supply::{eur, to_reorder};
use crate::render::scenario::{ascii, coloured, plain, plain_ascii, screen};
use fettlebook_contract::v1::ListReorderResponse;
use textwrap::core::display_width;

#[test]
fn what_to_order_at_80_columns() {
    insta::assert_snapshot!(plain(&show(&screen(80), &to_reorder(), "")), @r"
    Tern Quay Supplies (tern-quay), order at once
      coarse foam 150     3 packs of 2 × 18.90 EUR = 56.70 EUR
        Order by    late: order at once, the last day was Mon 23 Nov 2026
        Needed      5 pieces by Thu 26 Nov 2026 for black-suv, white-van
        Why         black-suv and white-van take 9 coarse foam 150 between them; 4
                    will be fit for it.
        If skipped  black-suv is 5 pads short in the cut.
        Instead     It cannot come before black-suv. Move black-suv to Fri 27 Nov
                    2026 or later, take it from another place, or buy it nearer.
        Hint        at a steady use 8 pieces at a time would be cheapest
      fine polish 500 mL        1 pack × 27.00 EUR = 27.00 EUR
        Order by    Mon 30 Nov 2026
        Needed      1 piece by Thu 3 Dec 2026 for black-suv
        Why         With what is there black-suv is carried with 88 %, below the
                    95 % aimed at.
        If skipped  One time in eight the polish runs out before the last panel.

                                             Goods   83.70 EUR
                                           Freight    0.00 EUR
                                             Total   83.70 EUR

    Millrace Trade Counter (millrace-trade-counter), order by Mon 30 Nov 2026
      nitrile gloves, box of 50 pairs  2 packs × 9.80 EUR = 19.60 EUR
        Order by    Mon 30 Nov 2026
        Needed      2 pieces by Thu 3 Dec 2026
        Why         One box is left and two are kept.
        If skipped  Jobs that are not booked yet may find none.

                                                    Goods   19.60 EUR
                                                    Total   19.60 EUR
      too small: 5.40 EUR more to the least order.
      60.40 EUR more to free delivery.

    No supplier offers these
      masking tape 50 m (masking-tape-50)
        Order by    Mon 30 Nov 2026
        Needed      1 piece by Thu 3 Dec 2026 for black-suv
        Why         black-suv takes 19 m of tape; 6 m are left.
        If skipped  black-suv is 13 m short.
      → Put what it costs on a price list, then look again:
        fettle supplier price SUPPLIER masking-tape-50 'each: 18.90 EUR'

    1 line is late.

    Taken for granted
    - Orders that are placed come on the day they are due.
    - A pad that is tired today is counted with the chance that it lasts, not as
      gone.
    ");
}

#[test]
fn what_to_order_at_120_columns() {
    insta::assert_snapshot!(plain(&show(&screen(120), &to_reorder(), "")), @r"
    Tern Quay Supplies (tern-quay), order at once
      coarse foam 150     3 packs of 2 × 18.90 EUR = 56.70 EUR
        Order by    late: order at once, the last day was Mon 23 Nov 2026
        Needed      5 pieces by Thu 26 Nov 2026 for black-suv, white-van
        Why         black-suv and white-van take 9 coarse foam 150 between them; 4 will be fit for it.
        If skipped  black-suv is 5 pads short in the cut.
        Instead     It cannot come before black-suv. Move black-suv to Fri 27 Nov 2026 or later, take it from another place,
                    or buy it nearer.
        Hint        at a steady use 8 pieces at a time would be cheapest
      fine polish 500 mL        1 pack × 27.00 EUR = 27.00 EUR
        Order by    Mon 30 Nov 2026
        Needed      1 piece by Thu 3 Dec 2026 for black-suv
        Why         With what is there black-suv is carried with 88 %, below the 95 % aimed at.
        If skipped  One time in eight the polish runs out before the last panel.

                                             Goods   83.70 EUR
                                           Freight    0.00 EUR
                                             Total   83.70 EUR

    Millrace Trade Counter (millrace-trade-counter), order by Mon 30 Nov 2026
      nitrile gloves, box of 50 pairs  2 packs × 9.80 EUR = 19.60 EUR
        Order by    Mon 30 Nov 2026
        Needed      2 pieces by Thu 3 Dec 2026
        Why         One box is left and two are kept.
        If skipped  Jobs that are not booked yet may find none.

                                                    Goods   19.60 EUR
                                                    Total   19.60 EUR
      too small: 5.40 EUR more to the least order.
      60.40 EUR more to free delivery.

    No supplier offers these
      masking tape 50 m (masking-tape-50)
        Order by    Mon 30 Nov 2026
        Needed      1 piece by Thu 3 Dec 2026 for black-suv
        Why         black-suv takes 19 m of tape; 6 m are left.
        If skipped  black-suv is 13 m short.
      → Put what it costs on a price list, then look again:
        fettle supplier price SUPPLIER masking-tape-50 'each: 18.90 EUR'

    1 line is late.

    Taken for granted
    - Orders that are placed come on the day they are due.
    - A pad that is tired today is counted with the chance that it lasts, not as gone.
    ");
}

#[test]
fn what_to_order_without_line_characters() {
    let text = plain_ascii(&show(&ascii(80), &to_reorder(), ""));
    assert!(text.is_ascii(), "{text}");
    assert!(
        text.contains("3 packs of 2 x 18.90 EUR = 56.70 EUR"),
        "{text}"
    );
}

#[test]
fn what_is_late_is_said_in_words_and_colour_repeats_it() {
    let text = show(&screen(80), &to_reorder(), "");
    assert!(plain(&text).contains("late: order at once"), "{text}");
    let seen = coloured(&text);
    assert!(seen.contains("^[1m^[31mlate: order at once^[0m"), "{seen}");
}

#[test]
fn nothing_to_order_is_a_sentence_with_what_it_takes_for_granted() {
    let nothing = ListReorderResponse {
        baskets: Vec::new(),
        ..to_reorder()
    };
    insta::assert_snapshot!(plain(&show(&screen(80), &nothing, " from tern-quay")), @r"
    Nothing to order from tern-quay: what booked jobs need, and what is kept beside
      it, is there or on its way.

    Taken for granted
    - Orders that are placed come on the day they are due.
    - A pad that is tired today is counted with the chance that it lasts, not as
      gone.
    ");
}

#[test]
fn where_no_job_is_booked_it_says_so() {
    let empty = ListReorderResponse {
        assumptions: Vec::new(),
        ..ListReorderResponse::default()
    };
    insta::assert_snapshot!(plain(&show(&screen(80), &empty, "")), @r"
    Nothing to order: no job is booked. Book one with 'fettle job add', and what it
      lacks stands here.
    ");
}

#[test]
fn sums_stand_as_they_were_sent_and_nothing_is_never_below_zero() {
    let mut answer = to_reorder();
    answer.baskets[0].freight = eur("-0.00");
    answer.baskets[0].total = eur("83.705");
    let text = plain(&show(&screen(80), &answer, ""));
    assert!(text.contains("Freight     0.00 EUR"), "{text}");
    assert!(text.contains("Total   83.705 EUR"), "{text}");
}

#[test]
fn no_line_runs_over_its_page() {
    let mut answer = to_reorder();
    let long = "a name of a make that goes on and on and on until nobody reads it any more";
    answer.baskets[1].lines[0].make_name = long.to_owned();
    for width in [70, 80, 120] {
        for line in plain(&show(&screen(width), &answer, "")).lines() {
            assert!(display_width(line) <= width, "{width}: {line}");
            assert!(!line.contains("safe"), "{line}");
        }
    }
}
