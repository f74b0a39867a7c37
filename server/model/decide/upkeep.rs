//! The small deeds of the day: moving, washing, drying, setting aside, binning.
//!
//! Serves those who keep the kit. What was done is taken in and flagged where the book thinks
//! otherwise; it is refused only for a tag nobody knows or a sort it cannot be done to.

use fettlebook_quantity::Seconds;
use jiff::civil::Date;

use super::Decision;
use super::bounds::within;
use super::doubts::doubt_washes;
use super::named_kit::{flag_binned, once, part, piece, pieces, wrong_sort};
use crate::book::command::Said;
use crate::book::deed::{Deed, Flag};
use crate::ground::ids::{Place, Subject, Tag};
use crate::ground::refusal::{Reason, Refusal};
use crate::trade::kit::{Inspection, Piece, Readiness, State};
use crate::trade::make::Figures;
use crate::trade::towel::TowelGrade;
use crate::trade::wear::{AsideReason, BinReason};
use crate::{Book, Moment};

/// What can be washed, as a refusal names it.
const WASHABLE: &str = "pad or a bundle of towels";

pub(super) fn move_kit(
    book: &Book,
    said: &Said,
    tags: &[Tag],
    place: &Place,
    now: Moment,
) -> Result<Decision, Refusal> {
    each(book, said, tags, now, |tag| Deed::Moved {
        tag,
        place: place.clone(),
    })
}

pub(super) fn set_aside(
    book: &Book,
    said: &Said,
    tags: &[Tag],
    reason: AsideReason,
    now: Moment,
) -> Result<Decision, Refusal> {
    each(book, said, tags, now, |tag| Deed::SetAside { tag, reason })
}

/// The same deed for each of these pieces, of whatever sort.
fn each(
    book: &Book,
    said: &Said,
    tags: &[Tag],
    now: Moment,
    deed: impl Fn(Tag) -> Deed,
) -> Result<Decision, Refusal> {
    let decision = Decision::of(said, now)?;
    let held = pieces(book, tags)?;
    let deeds = tags.iter().map(|tag| deed(*tag)).collect();
    Ok(decision.with(deeds, flag_binned(&held)))
}

pub(super) fn wash(
    book: &Book,
    said: &Said,
    tags: &[Tag],
    inspections: &[(Tag, Inspection)],
    now: Moment,
) -> Result<Decision, Refusal> {
    let decision = Decision::of(said, now)?;
    let held = pieces(book, tags)?;
    let mut deeds = held
        .iter()
        .map(|piece| {
            Ok(Deed::Washed {
                tag: piece.tag,
                dry_s: dry_time(book, piece)?,
                soiled_count: None,
            })
        })
        .collect::<Result<Vec<_>, _>>()?;
    once("inspections.tag", inspections.iter().map(|(tag, _)| *tag))?;
    for (tag, found) in inspections {
        deeds.push(inspected(book, tags, *tag, *found)?);
    }
    let mut flags = flag_binned(&held);
    flags.extend(doubt_washes(&held, decision.done_at, said.kept.as_ref()));
    Ok(decision.with(deeds, flags))
}

/// What a look at a washed pad found, if it can be true.
fn inspected(book: &Book, washed: &[Tag], tag: Tag, found: Inspection) -> Result<Deed, Refusal> {
    part(book, "inspections.tag", tag, "pad", Piece::pad)?;
    if !washed.contains(&tag) {
        return Err(Refusal::invalid(
            "inspections.tag",
            format!("{tag} is not among the pads that were washed."),
            "Name it among them too, or leave its grades out.",
        ));
    }
    Ok(Deed::Inspected { tag, found })
}

/// How long a piece dries after a wash, by its make.
fn dry_time(book: &Book, piece: &Piece) -> Result<Seconds, Refusal> {
    let open = match book.make(&piece.make).map(|make| &make.figures) {
        Some(Figures::Pad(pad)) => pad.dry_time_s,
        Some(Figures::Towel(towel)) => towel.dry_time_s,
        _ => return Err(wrong_sort("tags", piece, WASHABLE)),
    };
    Ok(open.unwrap_or(Seconds::ZERO))
}

pub(super) fn mark_dry(
    book: &Book,
    said: &Said,
    tags: &[Tag],
    now: Moment,
) -> Result<Decision, Refusal> {
    let decision = Decision::of(said, now)?;
    let held = pieces(book, tags)?;
    let mut flags = flag_binned(&held);
    for piece in &held {
        if !matches!(piece.state, State::Pad(_) | State::Bundle(_)) {
            return Err(wrong_sort("tags", piece, WASHABLE));
        }
        if piece.readiness == Readiness::Soiled {
            flags.push(Flag {
                subject: Subject::Piece(piece.tag),
                text: format!(
                    "No wash of {} is in the book since its last use.",
                    piece.tag
                ),
                count: false,
            });
        }
    }
    let deeds = tags.iter().map(|tag| Deed::Dried { tag: *tag }).collect();
    Ok(decision.with(deeds, flags))
}

pub(super) fn mark_labelled(
    book: &Book,
    said: &Said,
    tags: &[Tag],
    now: Moment,
) -> Result<Decision, Refusal> {
    let decision = Decision::of(said, now)?;
    let flags = flag_binned(&pieces(book, tags)?);
    let deeds = tags.iter().map(|tag| Deed::Labelled { tag: *tag });
    Ok(decision.with(deeds.collect(), flags))
}

pub(super) fn give_back(
    book: &Book,
    said: &Said,
    tags: &[Tag],
    (check_due, is_clean): (Option<Date>, Option<bool>),
    now: Moment,
) -> Result<Decision, Refusal> {
    let decision = Decision::of(said, now)?;
    let mut flags = Vec::new();
    for piece in pieces(book, tags)? {
        if check_due.is_some() && piece.tool().is_none() {
            return Err(wrong_sort("check_due_date", piece, "tool"));
        }
        if is_clean.is_none() && piece.pad().is_some() {
            let tag = piece.tag;
            flags.push(Flag {
                subject: Subject::Piece(tag),
                text: format!(
                    "Nobody said whether {tag} came back clean: it is taken as soiled, to be washed."
                ),
                count: false,
            });
        }
        // A gauge may be checked where it is.
        let is_checked = check_due.is_some() && !piece.is_binned();
        if is_checked || matches!(piece.readiness, Readiness::Aside(_)) {
            continue;
        }
        let (tag, word) = (piece.tag, piece.readiness.at(now).word());
        if said.kept.is_none() {
            return Err(Refusal::new(
                Reason::WrongSort,
                "tags",
                format!("{tag} is {word}, not aside."),
                "Only what is aside comes back.",
            ));
        }
        flags.push(Flag {
            subject: Subject::Piece(tag),
            text: format!("{tag} was {word} in the book, not aside."),
            count: false,
        });
    }
    let deeds = tags
        .iter()
        .map(|tag| Deed::Returned {
            tag: *tag,
            check_due_on: check_due,
            is_clean: is_clean.filter(|_| is_pad(book, *tag)),
        })
        .collect();
    Ok(decision.with(deeds, flags))
}

fn is_pad(book: &Book, tag: Tag) -> bool {
    book.piece(tag).is_some_and(|piece| piece.pad().is_some())
}

pub(super) fn bin(
    book: &Book,
    said: &Said,
    tags: &[Tag],
    reason: BinReason,
    count: Option<i64>,
    now: Moment,
) -> Result<Decision, Refusal> {
    let decision = Decision::of(said, now)?;
    let held = pieces(book, tags)?;
    let mut flags = flag_binned(&held);
    let deeds = held
        .iter()
        .map(|piece| match count {
            None => Ok(Deed::Binned {
                tag: piece.tag,
                reason,
            }),
            Some(count) => bin_towels(piece, reason, count, said.kept.is_some()),
        })
        .collect::<Result<_, _>>()?;
    flags.extend(held.iter().filter_map(|piece| flag_fewer(piece, count?)));
    Ok(decision.with(deeds, flags))
}

/// Flags towels that are binned of a bundle that the book thinks smaller.
fn flag_fewer(piece: &Piece, count: i64) -> Option<Flag> {
    let (tag, all) = (piece.tag, piece.bundle()?.total_count());
    (count > all).then(|| Flag {
        subject: Subject::Piece(tag),
        text: format!("{tag} had {all} towels in the book, fewer than the {count} binned."),
        count: true,
    })
}

/// Takes some towels out of a bundle; the bundle with them when they are all. More than the book has
/// can only have been binned by whoever had not seen all of it.
fn bin_towels(
    piece: &Piece,
    reason: BinReason,
    count: i64,
    is_kept: bool,
) -> Result<Deed, Refusal> {
    const TOWELS_MAX: i64 = 10_000;
    let tag = piece.tag;
    let bundle = piece
        .bundle()
        .ok_or_else(|| wrong_sort("count", piece, "bundle of towels"))?;
    let all = bundle.total_count();
    let most = if is_kept { TOWELS_MAX } else { all };
    within("count", count, 1, most, "towels, all that are in it")?;
    // How many a device binned is a fact, whatever the book has by the time it is told.
    Ok(if count == all && !is_kept {
        Deed::Binned { tag, reason }
    } else {
        Deed::TowelsBinned { tag, reason, count }
    })
}

pub(super) fn demote(
    book: &Book,
    said: &Said,
    tag: Tag,
    grade: TowelGrade,
    now: Moment,
) -> Result<Decision, Refusal> {
    let decision = Decision::of(said, now)?;
    let has = part(book, "tag", tag, "bundle of towels", Piece::bundle)?.grade;
    let goes_down = has != grade && has.may_become(grade);
    if !goes_down && said.kept.is_none() {
        return Err(Refusal::invalid(
            "grade",
            format!("{tag} is for {has} and cannot become {grade}: towels go down, never up."),
            "Name a grade below the one it has.",
        ));
    }
    let mut flags = flag_binned(&[piece(book, "tag", tag)?]);
    if goes_down {
        return Ok(decision.with(vec![Deed::Demoted { tag, grade }], flags));
    }
    flags.push(Flag {
        subject: Subject::Piece(tag),
        text: format!("{tag} was for {has} in the book already, and stays so."),
        count: false,
    });
    Ok(decision.with(vec![Deed::Demoted { tag, grade: has }], flags))
}
