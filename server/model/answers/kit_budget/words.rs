//! What the budget says in sentences: which jobs it rests on, and what to keep in mind.

use super::BudgetTotal;
use super::usual::Usual;
use crate::Book;
use crate::ground::ids::list;
use crate::trade::kit::State;
use crate::trade::policy::PolicyKey;

/// Which jobs it rests on.
pub(super) fn rests_on(book: &Book, totals: &[BudgetTotal], usual: &Usual<'_>) -> String {
    let booked = totals.last().map_or(0, |total| total.booked_job_count);
    let booked = match booked {
        0 => "No booked job".to_owned(),
        1 => "1 booked job".to_owned(),
        count => format!("{count} booked jobs"),
    };
    let weeks = book.policy().value(PolicyKey::DemandWeeks);
    match usual.done_count() {
        0 => format!("{booked}, and no usual ones: none was done in the last {weeks} weeks."),
        done => {
            let jobs = if done == 1 {
                "1 job"
            } else {
                &format!("{done} jobs")
            };
            let seen = match usual.week_count() {
                1 => "the last week".to_owned(),
                seen => format!("the last {seen} weeks"),
            };
            let a_week = usual.a_week();
            format!(
                "{booked}, and beside them what usually comes: {a_week:.1} a week, by {jobs} done in {seen}."
            )
        }
    }
}

/// What to keep in mind.
pub(super) fn caveats(book: &Book, totals: &[BudgetTotal]) -> Vec<String> {
    let mut said = Vec::new();
    if let Some(total) = totals.last().filter(|total| !total.unpriced.is_empty()) {
        let makes = list(&total.unpriced);
        said.push(match total.cost {
            Some(_) => format!("No price is known of {makes}: the sums are without it."),
            None => format!("No price is known of {makes}, so that there is no sum."),
        });
    }
    said.push(
        "A piece that wears out or is used up is replaced by one like it, at the cheapest price by the piece and \
         without freight; what a booked job lacks is on the reorder list."
            .to_owned(),
    );
    let has_machine = book
        .pieces()
        .any(|piece| !piece.is_binned() && matches!(piece.state, State::Machine(_)));
    if has_machine {
        said.push("Machines are not in it: no life is rated for them.".to_owned());
    }
    said
}
