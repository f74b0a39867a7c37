//! Deeds that devices kept while they had no signal: what happened is taken in, whatever others did
//! meanwhile, and where they met a person is asked to look.
//!
//! The world is the stocked shop with two vans. What a van says carries its number and the last entry it
//! had seen.

mod counts;
mod readings;
mod received;
mod shown;
mod taken_in;
mod twice;

use fettlebook_model::command::{Counted, LooseLog, Said};
use fettlebook_model::kept::{Kept, KeptMark};
use fettlebook_model::{Command, Entry, Moment, Seq};

use crate::shop::{Shop, pad_use, step, tag};

/// Kept by a van that had seen the book up to this entry.
pub(crate) fn kept(by: &str, seen: Seq, done_at: Moment) -> Said {
    Said {
        done_at: Some(done_at),
        note: String::new(),
        kept: Some(Kept {
            mark: KeptMark {
                number: 1,
                seen,
                kept_at: done_at,
            },
            by: by.to_owned(),
            tag_letter: None,
        }),
    }
}

/// A sundry or a bottle is counted.
fn count(said: Said, piece: &str, quantity: i64) -> Command {
    Command::Count {
        said,
        tag: tag(piece),
        count: Counted {
            quantity: Some(quantity),
            ..Counted::default()
        },
    }
}

/// A sundry is used outside any job.
fn use_sundry<'a>(shop: &'a mut Shop, said: Said, piece: &str, quantity: i64) -> &'a Entry {
    loose(shop, said, |loose| {
        loose.sundries = vec![(tag(piece), quantity)]
    })
}

/// A pad works two sections outside any job.
fn use_pad<'a>(shop: &'a mut Shop, said: Said, pad: &str) -> &'a Entry {
    loose(shop, said, |loose| {
        loose.step = Some(step("spot", "coarse-foam-150", "coarse-compound-1l"));
        loose.section_count = 2;
        loose.pads = vec![pad_use(pad)];
    })
}

fn loose(shop: &mut Shop, said: Said, more: impl FnOnce(&mut LooseLog)) -> &Entry {
    let taken = shop.log_loose(|loose| {
        loose.said = said;
        more(loose);
    });
    taken.unwrap()
}

/// What is left of a sundry.
fn left(shop: &Shop, sundry: &str) -> i64 {
    shop.piece(sundry).sundry_left().unwrap()
}
