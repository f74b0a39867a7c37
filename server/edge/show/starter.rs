//! Starter kits on the wire, beside what the book has of them.
//!
//! It serves whoever begins, and whoever adds what is missing.

use fettlebook_contract::v1;
use fettlebook_model::kit::State;
use fettlebook_model::make::Make;
use fettlebook_model::policy::PolicyKey;
use fettlebook_model::starter::{StarterKit, StarterMake};
use fettlebook_model::{Book, Id};

use super::make::sort;
use super::{make, routine};
use crate::edge::prices::Prices;
use crate::edge::words;

/// All of them, from the fewest machines on.
pub(in crate::edge) fn kits(book: &Book, prices: Prices) -> Vec<v1::StarterKit> {
    let kits = StarterKit::ALL.iter();
    kits.map(|kit| v1::StarterKit {
        starter_kit: kit.to_string(),
        name: kit.name().to_owned(),
        text: kit.text().to_owned(),
        makes: kit
            .makes()
            .iter()
            .map(|one| starter_make(book, one, prices))
            .collect(),
        routines: kit.routines().iter().map(routine::routine).collect(),
    })
    .collect()
}

fn starter_make(book: &Book, one: &StarterMake, prices: Prices) -> v1::StarterMake {
    let policy = book.policy();
    let held = book.make(&one.make.id).map(|make| Make::clone(make));
    let is_new = held.is_none();
    let kept = held.unwrap_or_else(|| one.under(policy));
    let word = sort(&kept.figures);
    let own = one.bases.iter().map(|(figure, basis)| v1::FigureBasis {
        figure: format!("{word}.{figure}"),
        basis: words::basis_word(*basis),
    });
    let filled = kept
        .from_policy(policy)
        .into_iter()
        .map(|from| v1::FigureBasis {
            figure: format!("{word}.{}", from.figure.as_str()),
            basis: basis_of(from.key, from.value),
        });
    // What the book has is the person's own where it is not from the policy.
    let own = own.filter(|_| is_new);
    v1::StarterMake {
        bases: own.chain(filled).collect(),
        make: Some(make::make(&kept, prices, policy)),
        usual_count: one.usual_count,
        held_count: held_count(book, &one.make.id),
    }
}

/// Where a figure comes from that the policy gave: from its default, or from what the book set.
fn basis_of(key: PolicyKey, value: i64) -> i32 {
    let spec = key.spec();
    if value == spec.default {
        words::basis_word(spec.basis)
    } else {
        v1::Basis::Own.into()
    }
}

/// Pieces of a make in the kit; towels of its bundles.
fn held_count(book: &Book, id: &Id) -> i64 {
    let towels = |state: &State| match state {
        State::Bundle(bundle) => Some(
            bundle
                .clean_count
                .saturating_add(bundle.soiled_count)
                .saturating_add(bundle.drying_count),
        ),
        _ => None,
    };
    let pieces = book.pieces_of(id);
    let counts = pieces.map(|piece| towels(&piece.state).unwrap_or(1));
    counts.fold(0, i64::saturating_add)
}
