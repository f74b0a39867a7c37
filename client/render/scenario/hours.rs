//! Canned minutes of the silver saloon: what logs taught of its machine, and what its hours cost.

use fettlebook_contract::v1::{CostSheet, JobHours, Plan, TimeNeed};

use super::cost::{done, forecast};
use super::plan;
use super::supply::eur;

/// The plan of a shop that works slower than planned.
pub(crate) fn plan_with_times() -> Plan {
    Plan {
        times: vec![TimeNeed {
            make: "orbital-150".to_owned(),
            planned_s: 19_008,
            expected_s: 21_289,
            low_s: 18_600,
            high_s: 24_060,
            rests_on: "You take 12 % longer than planned with a big orbital machine, from 6 jobs."
                .to_owned(),
        }],
        ..plan()
    }
}

fn hours() -> JobHours {
    JobHours {
        low_s: 18_600,
        typical_s: 21_289,
        high_s: 24_060,
        actual_s: None,
        logged: false,
        rate: eur("45.00"),
        low: eur("232.50"),
        typical: eur("266.11"),
        high: eur("300.75"),
        actual: None,
        person: "the owner".to_owned(),
        rests_on: Vec::new(),
    }
}

/// The forecast of a shop with a price for the hour.
pub(crate) fn priced() -> CostSheet {
    CostSheet {
        hours: Some(hours()),
        ..forecast()
    }
}

/// The same when it is done; its log says how long the machines ran, or not.
pub(crate) fn priced_done(logged: bool) -> CostSheet {
    CostSheet {
        hours: Some(JobHours {
            actual_s: Some(22_200),
            actual: eur("277.50"),
            logged,
            ..hours()
        }),
        ..done()
    }
}
