//! How steps that machines share are named in few words.
//!
//! A share is named for its step with its reach behind it, such as `cut-spot`; that is the contract's word. Beside
//! its step the reach alone says as much.

/// Step and reach of a share of one of these steps; none of what is no share.
pub(crate) fn share_of<'a>(name: &'a str, all: &[&str]) -> Option<(&'a str, &'a str)> {
    let (step, reach) = name.rsplit_once('-')?;
    all.contains(&step).then_some((step, reach))
}

/// The steps that a piece is for, of all that pieces like it are for: where those are every share of one reach, the
/// reach alone.
pub(crate) fn told(steps: &[&str], all: &[&str]) -> String {
    let reach_of = |name: &&str| share_of(name, all).map(|(_, reach)| reach.to_owned());
    let reach = steps.first().and_then(reach_of);
    let is_all = reach.is_some() && {
        let mut shares = all.iter().filter(|name| reach_of(name) == reach);
        let is_one = steps.iter().all(|name| reach_of(name) == reach);
        is_one && shares.all(|name| steps.contains(name))
    };
    match reach {
        Some(reach) if is_all && steps.len() > 1 => reach,
        _ => steps.join(", "),
    }
}

#[cfg(test)]
mod tests {
    use super::{share_of, told};

    const ALL: [&str; 5] = ["cut", "cut-spot", "cut-pencil", "finish", "finish-spot"];

    #[test]
    fn what_goes_for_every_share_of_a_reach_is_told_by_the_reach() {
        assert_eq!(told(&["cut-spot", "finish-spot"], &ALL), "spot");
        // One share of two, or of one, is told by its name: another piece works the rest.
        assert_eq!(told(&["cut-spot"], &ALL), "cut-spot");
        assert_eq!(told(&["cut-pencil"], &ALL), "cut-pencil");
        assert_eq!(told(&["cut", "finish"], &ALL), "cut, finish");
        assert_eq!(told(&["cut-spot", "finish"], &ALL), "cut-spot, finish");
        assert_eq!(told(&[], &ALL), "");
        let three = [&ALL[..], &["refine", "refine-spot"]].concat();
        assert_eq!(
            told(&["cut-spot", "finish-spot"], &three),
            "cut-spot, finish-spot"
        );
    }

    #[test]
    fn a_step_with_a_hyphen_in_its_name_is_no_share() {
        assert_eq!(share_of("cut-spot", &ALL), Some(("cut", "spot")));
        assert_eq!(share_of("by-hand", &ALL), None);
        assert_eq!(
            told(&["by-hand", "on-hand"], &["by-hand", "on-hand"]),
            "by-hand, on-hand"
        );
    }
}
