//! The small deeds of the day: moving, washing, weighing, counting, setting aside, binning.

use fettlebook_quantity::{Seconds, Volume};

use super::{Decision, done_at, note, within};
use crate::command::{Counted, Said, Weighing};
use crate::deed::{Deed, Flag};
use crate::dose::volume_left;
use crate::ids::{Place, Subject, Tag};
use crate::kit::{Piece, Readiness, State};
use crate::make::Figures;
use crate::pick::scale_figures;
use crate::refusal::{Reason, Refusal};
use crate::towel::TowelGrade;
use crate::wear::{AsideReason, BinReason};
use crate::{Book, Moment};

/// Most pieces in one command.
const TAGS_MAX: usize = 500;

fn decision(said: &Said, done: Moment, deeds: Vec<Deed>, flags: Vec<Flag>) -> Decision {
    Decision {
        deeds,
        flags,
        done_at: done,
        note: said.note.clone(),
    }
}

/// The pieces behind tags: known, named once, at least one.
fn pieces<'a>(book: &'a Book, tags: &[Tag]) -> Result<Vec<&'a Piece>, Refusal> {
    if tags.is_empty() {
        return Err(Refusal::missing(
            "tags",
            "Name at least one tag, such as P-07.",
        ));
    }
    if tags.len() > TAGS_MAX {
        return Err(Refusal::invalid(
            "tags",
            format!("More than {TAGS_MAX} tags."),
            "Split the command.",
        ));
    }
    tags.iter()
        .enumerate()
        .map(|(at, tag)| {
            if tags.iter().take(at).any(|other| other == tag) {
                return Err(Refusal::invalid(
                    "tags",
                    format!("{tag} is named twice."),
                    "Name each tag once.",
                ));
            }
            book.piece(*tag)
                .map(AsRef::as_ref)
                .ok_or_else(|| Refusal::no_tag("tags", *tag))
        })
        .collect()
}

/// Flags what is reported of pieces that the book thinks binned.
fn flag_binned(pieces: &[&Piece]) -> Vec<Flag> {
    pieces
        .iter()
        .filter(|piece| piece.is_binned())
        .map(|piece| Flag {
            subject: Subject::Piece(piece.tag),
            text: format!("{} is binned in the book.", piece.tag),
            count: false,
        })
        .collect()
}

pub(super) fn move_kit(
    book: &Book,
    said: &Said,
    tags: &[Tag],
    place: &Place,
    now: Moment,
) -> Result<Decision, Refusal> {
    let done = done_at(said, now)?;
    note(&said.note)?;
    let held = pieces(book, tags)?;
    let deeds = tags
        .iter()
        .map(|tag| Deed::Moved {
            tag: *tag,
            place: place.clone(),
        })
        .collect();
    Ok(decision(said, done, deeds, flag_binned(&held)))
}

pub(super) fn wash(
    book: &Book,
    said: &Said,
    tags: &[Tag],
    now: Moment,
) -> Result<Decision, Refusal> {
    let done = done_at(said, now)?;
    note(&said.note)?;
    let held = pieces(book, tags)?;
    let deeds = held
        .iter()
        .map(|piece| {
            let figures = book.make(&piece.make).map(|make| &make.figures);
            let dry_s = match figures {
                Some(Figures::Pad(pad)) => pad.dry_time_s,
                Some(Figures::Towel(towel)) => towel.dry_time_s,
                Some(other) => {
                    return Err(Refusal::wrong_sort(
                        "tags",
                        piece.tag,
                        other.sort(),
                        "pad or a bundle of towels",
                    ));
                }
                None => None,
            };
            Ok(Deed::Washed {
                tag: piece.tag,
                dry_s: dry_s.unwrap_or(Seconds::ZERO),
            })
        })
        .collect::<Result<_, _>>()?;
    Ok(decision(said, done, deeds, flag_binned(&held)))
}

pub(super) fn mark_dry(
    book: &Book,
    said: &Said,
    tags: &[Tag],
    now: Moment,
) -> Result<Decision, Refusal> {
    let done = done_at(said, now)?;
    note(&said.note)?;
    let held = pieces(book, tags)?;
    let mut flags = flag_binned(&held);
    for piece in &held {
        if !matches!(piece.state, State::Pad(_) | State::Bundle(_)) {
            return Err(Refusal::wrong_sort(
                "tags",
                piece.tag,
                sort(piece),
                "pad or a bundle of towels",
            ));
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
    Ok(decision(said, done, deeds, flags))
}

pub(super) fn weigh(
    book: &Book,
    said: &Said,
    weighings: &[Weighing],
    now: Moment,
) -> Result<Decision, Refusal> {
    let done = done_at(said, now)?;
    note(&said.note)?;
    if weighings.is_empty() {
        return Err(Refusal::missing(
            "weighings",
            "Give at least one, such as B-03=412g.",
        ));
    }
    let (mut deeds, mut flags) = (Vec::new(), Vec::new());
    for weighing in weighings {
        let (deed, flag) = weighed(book, *weighing, done)?;
        deeds.push(deed);
        flags.extend(flag);
    }
    Ok(decision(said, done, deeds, flags))
}

/// The deed of one weigh-in, and a flag where it contradicts the book.
pub(super) fn weighed(
    book: &Book,
    weighing: Weighing,
    done: Moment,
) -> Result<(Deed, Option<Flag>), Refusal> {
    let tag = weighing.tag;
    let piece = book
        .piece(tag)
        .ok_or_else(|| Refusal::no_tag("weighings.bottle", tag))?;
    let Some(bottle) = piece.bottle() else {
        return Err(Refusal::wrong_sort(
            "weighings.bottle",
            tag,
            sort(piece),
            "bottle",
        ));
    };
    within(
        "weighings.gross_mg",
        weighing.gross_mg.mg(),
        0,
        1_000_000_000,
        "mg",
    )?;
    let scale = book
        .make(&piece.make)
        .and_then(|make| scale_figures(piece, make));
    let Some((tare, density)) = scale else {
        return Err(Refusal::new(
            Reason::FieldMissing,
            "tare_mg",
            format!("The empty weight of {tag} is not known, so a weight says nothing."),
            "Enter the make's tare, or read the volume off and count it instead.",
        ));
    };
    let Some(left) = volume_left(weighing.gross_mg, tare, density) else {
        return Err(Refusal::quantity(
            "weighings.gross_mg",
            format!(
                "{tag} at {} is lighter than empty, {tare}.",
                weighing.gross_mg
            ),
            "Weigh it again with its cap, or correct the tare.",
        ));
    };
    let flag = |text: String, count| {
        Some(Flag {
            subject: Subject::Piece(tag),
            text,
            count,
        })
    };
    // A bottle holds a little more than its label says.
    let brim = Volume::from_ul(
        bottle
            .full_ul
            .ul()
            .saturating_add(bottle.full_ul.ul().div_euclid(10)),
    );
    let stale = bottle.used_at.is_some_and(|used| used > done)
        || bottle.measured_at.is_some_and(|seen| seen > done);
    let flag = if left > brim {
        flag(
            format!(
                "{tag} at {} would hold {left}, more than a full bottle.",
                weighing.gross_mg
            ),
            true,
        )
    } else if stale {
        flag(
            format!("{tag} was used or measured after this weigh-in; its level is left as it was."),
            true,
        )
    } else {
        None
    };
    let deed = Deed::Weighed {
        tag,
        gross_mg: weighing.gross_mg,
        tare_mg: tare,
        density_mg_per_ml: density,
    };
    Ok((deed, flag))
}

pub(super) fn count(
    book: &Book,
    said: &Said,
    tag: Tag,
    count: Counted,
    now: Moment,
) -> Result<Decision, Refusal> {
    let done = done_at(said, now)?;
    note(&said.note)?;
    let piece = book.piece(tag).ok_or_else(|| Refusal::no_tag("tag", tag))?;
    let deed = match &piece.state {
        State::Bottle(bottle) => {
            let left = count
                .quantity
                .ok_or_else(|| Refusal::missing("quantity", "Give the volume left."))?;
            within(
                "quantity",
                left,
                0,
                bottle.full_ul.ul(),
                "µL, the size of the bottle",
            )?;
            Deed::VolumeRead {
                tag,
                left_ul: Volume::from_ul(left),
            }
        }
        State::Sundry(_) => {
            let left = count
                .quantity
                .ok_or_else(|| Refusal::missing("quantity", "Give what is left."))?;
            within("quantity", left, 0, 1_000_000_000_000, "of its unit")?;
            Deed::SundryCounted {
                tag,
                left_quantity: left,
            }
        }
        State::Bundle(_) => {
            let (Some(clean), Some(soiled)) = (count.clean_count, count.soiled_count) else {
                return Err(Refusal::missing(
                    "clean_count",
                    "Give clean and soiled towels, both.",
                ));
            };
            within("clean_count", clean, 0, 10_000, "towels")?;
            within("soiled_count", soiled, 0, 10_000, "towels")?;
            Deed::TowelsCounted {
                tag,
                clean_count: clean,
                soiled_count: soiled,
            }
        }
        State::Pad(_) | State::Plate(_) | State::Machine(_) => {
            return Err(Refusal::wrong_sort(
                "tag",
                tag,
                sort(piece),
                "bottle, a bundle of towels or a sundry",
            ));
        }
    };
    Ok(decision(said, done, vec![deed], flag_binned(&[piece])))
}

pub(super) fn set_aside(
    book: &Book,
    said: &Said,
    tags: &[Tag],
    reason: AsideReason,
    now: Moment,
) -> Result<Decision, Refusal> {
    let done = done_at(said, now)?;
    note(&said.note)?;
    let held = pieces(book, tags)?;
    let deeds = tags
        .iter()
        .map(|tag| Deed::SetAside { tag: *tag, reason })
        .collect();
    Ok(decision(said, done, deeds, flag_binned(&held)))
}

pub(super) fn give_back(
    book: &Book,
    said: &Said,
    tags: &[Tag],
    now: Moment,
) -> Result<Decision, Refusal> {
    let done = done_at(said, now)?;
    note(&said.note)?;
    for piece in pieces(book, tags)? {
        if !matches!(piece.readiness, Readiness::Aside(_)) {
            return Err(Refusal::new(
                Reason::WrongSort,
                "tags",
                format!(
                    "{} is {}, not aside.",
                    piece.tag,
                    piece.readiness.at(now).word()
                ),
                "Only what is aside comes back.",
            ));
        }
    }
    let deeds = tags
        .iter()
        .map(|tag| Deed::Returned { tag: *tag })
        .collect();
    Ok(decision(said, done, deeds, Vec::new()))
}

pub(super) fn bin(
    book: &Book,
    said: &Said,
    tags: &[Tag],
    reason: BinReason,
    count: Option<i64>,
    now: Moment,
) -> Result<Decision, Refusal> {
    let done = done_at(said, now)?;
    note(&said.note)?;
    let held = pieces(book, tags)?;
    let deeds = held
        .iter()
        .map(|piece| match (count, &piece.state) {
            (None, _) => Ok(Deed::Binned {
                tag: piece.tag,
                reason,
            }),
            (Some(count), State::Bundle(bundle)) => {
                within(
                    "count",
                    count,
                    1,
                    bundle.total_count(),
                    "towels, all that are in it",
                )?;
                Ok(if count == bundle.total_count() {
                    Deed::Binned {
                        tag: piece.tag,
                        reason,
                    }
                } else {
                    Deed::TowelsBinned {
                        tag: piece.tag,
                        reason,
                        count,
                    }
                })
            }
            (Some(_), _) => Err(Refusal::wrong_sort(
                "count",
                piece.tag,
                sort(piece),
                "bundle of towels",
            )),
        })
        .collect::<Result<_, _>>()?;
    Ok(decision(said, done, deeds, flag_binned(&held)))
}

pub(super) fn demote(
    book: &Book,
    said: &Said,
    tag: Tag,
    grade: TowelGrade,
    now: Moment,
) -> Result<Decision, Refusal> {
    let done = done_at(said, now)?;
    note(&said.note)?;
    let piece = book.piece(tag).ok_or_else(|| Refusal::no_tag("tag", tag))?;
    let Some(bundle) = piece.bundle() else {
        return Err(Refusal::wrong_sort(
            "tag",
            tag,
            sort(piece),
            "bundle of towels",
        ));
    };
    if bundle.grade == grade || !bundle.grade.may_become(grade) {
        return Err(Refusal::invalid(
            "grade",
            format!(
                "{tag} is for {} and cannot become {grade}: towels go down, never up.",
                bundle.grade
            ),
            "Name a grade below the one it has.",
        ));
    }
    Ok(decision(
        said,
        done,
        vec![Deed::Demoted { tag, grade }],
        flag_binned(&[piece]),
    ))
}

/// The sort of a piece, as said.
pub(super) const fn sort(piece: &Piece) -> &'static str {
    match piece.state {
        State::Pad(_) => "pad",
        State::Plate(_) => "backing plate",
        State::Machine(_) => "machine",
        State::Bundle(_) => "bundle of towels",
        State::Bottle(_) => "bottle",
        State::Sundry(_) => "sundry",
    }
}
