//! What random logs say of minutes and of who did a job.

use std::collections::BTreeMap;

use fettlebook_model::{Deed, Entry, Id};
use proptest::prelude::{ProptestConfig, prop_assert, prop_assert_eq, proptest};

use super::act::acts;
use super::{after, reverses};
use crate::shop::Shop;

/// Time is kept in whole milliseconds; each part of a job may be off by one.
const ROUNDED_MS: i64 = 10;

/// How long the machines ran in an entry, by make, ms; of a make that no piece worked for there is nothing.
fn ran(shop: &Shop, entry: &Entry) -> BTreeMap<Id, i64> {
    let mut ran: BTreeMap<Id, i64> = BTreeMap::new();
    for deed in &entry.deeds {
        if let Deed::MachineUsed { tag, time_ms, .. } = deed
            && let Some(piece) = shop.book.piece(*tag)
        {
            *ran.entry(piece.make.clone()).or_default() += time_ms;
        }
    }
    ran
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(256))]

    /// What a log says of the machines' time is what they ran, in its deeds and for what is learnt; who did the job
    /// is whose it is from then on.
    #[test]
    fn what_is_said_of_minutes_and_people_is_what_the_book_holds(acts in acts()) {
        let shop = after(&acts);
        let reversed: Vec<_> = shop.entries.iter().filter_map(reverses).collect();
        for entry in shop.entries.iter().filter(|entry| !reversed.contains(&entry.seq)) {
            let times = ran(&shop, entry);
            for deed in &entry.deeds {
                let Deed::JobDone { job, logged, person, .. } = deed else {
                    continue;
                };
                let held = shop.book.job(job).unwrap();
                if !person.is_empty() {
                    prop_assert_eq!(&held.person, person);
                }
                let Some(logged) = logged else {
                    continue;
                };
                prop_assert_eq!(held.logged.as_ref(), Some(logged));
                for said in &logged.ran {
                    let Some(time_ms) = times.get(&said.machine) else {
                        continue;
                    };
                    let off = (time_ms - said.time_ms).abs();
                    prop_assert!(off <= ROUNDED_MS, "{}: {} of {}", job, time_ms, said.time_ms);
                }
            }
        }
    }
}
