//! First expired, first out: which lots to take, and in what order.
//!
//! A lot past its date is never picked; the label and the data sheet decide whether a lot in date may
//! still be used.

use jiff::civil::Date;

use crate::Moment;

/// A lot at hand.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Lot<Tag> {
    /// What it goes by.
    pub tag: Tag,
    /// Quantity left.
    pub quantity: i64,
    /// Last day on which it may be used; none where it does not expire.
    pub expires: Option<Date>,
    /// It was opened.
    pub is_opened: bool,
    /// It is where it is wanted.
    pub is_at_hand: bool,
    /// When it came in.
    pub received: Moment,
}

/// Picks the lots that may be used on a day, in the order to take them.
///
/// A lot is usable on its expiry day. The earliest expiry goes first, a lot without one last; then an
/// opened one, one that is at hand, the earlier receipt, the emptier, the tag. Source: WHO good
/// distribution practices, annex 5 (first expiry, first out); the tie rules are common practice, no source.
pub(crate) fn pick_first_expiring<Tag: Copy + Ord>(
    lots: impl IntoIterator<Item = Lot<Tag>>,
    use_date: Date,
) -> Vec<Lot<Tag>> {
    let mut usable: Vec<Lot<Tag>> = lots
        .into_iter()
        .filter(|lot| lot.expires.is_none_or(|day| day >= use_date))
        .collect();
    usable.sort_by_key(|lot| {
        (
            lot.expires.is_none(),
            lot.expires,
            !lot.is_opened,
            !lot.is_at_hand,
            lot.received,
            lot.quantity,
            lot.tag,
        )
    });
    usable
}

/// Takes a quantity from lots in their order, each as far as it goes: what comes from which, and what
/// they do not hold.
pub(crate) fn take_in_order<Lot>(
    lots: impl IntoIterator<Item = (Lot, i64)>,
    need: i64,
) -> (Vec<(Lot, i64)>, i64) {
    let (mut taken, mut open) = (Vec::new(), need);
    for (lot, quantity) in lots {
        let here = quantity.min(open);
        if here > 0 {
            taken.push((lot, here));
            open = open.saturating_sub(here);
        }
    }
    (taken, open)
}

#[cfg(test)]
mod tests {
    use jiff::civil::{Date, date};

    use super::{Lot, pick_first_expiring};
    use crate::Moment;

    const DAY: Date = date(2026, 6, 30);

    fn lot(tag: char) -> Lot<char> {
        Lot {
            tag,
            quantity: 5,
            expires: Some(DAY),
            is_opened: false,
            is_at_hand: false,
            received: Moment::UNIX_EPOCH,
        }
    }

    fn order<const N: usize>(lots: [Lot<char>; N], use_date: Date) -> String {
        let usable = pick_first_expiring(lots, use_date);
        usable.iter().map(|lot| lot.tag).collect()
    }

    #[test]
    fn a_lot_is_usable_on_its_expiry_day_and_not_the_day_after() {
        assert_eq!(order([lot('a')], DAY), "a");
        assert_eq!(order([lot('a')], DAY.tomorrow().unwrap()), "");
    }

    /// Basis: common practice, no source: opened, at hand, earlier received, emptier, tag.
    #[test]
    fn ties_are_broken_in_one_order() {
        let later = Moment::from_second(86_400).unwrap();
        let lots = [
            Lot {
                expires: None,
                is_opened: true,
                ..lot('h')
            },
            Lot {
                received: later,
                quantity: 1,
                ..lot('g')
            },
            lot('f'),
            lot('e'),
            Lot {
                quantity: 1,
                ..lot('d')
            },
            Lot {
                is_at_hand: true,
                received: later,
                ..lot('c')
            },
            Lot {
                is_opened: true,
                received: later,
                ..lot('b')
            },
            Lot {
                expires: Some(date(2026, 6, 29)),
                received: later,
                ..lot('a')
            },
        ];
        assert_eq!(order(lots, date(2026, 4, 10)), "abcdefgh");
    }
}
