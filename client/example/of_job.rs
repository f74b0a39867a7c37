//! Examples for what is wrong with the days or the depth of a job: the job as it stands, or booked or logged without
//! them.

use super::{quoted, with_value, without};

/// Options that say the second day.
const DAYS: [&str; 2] = ["--second-day", "--second-from"];

/// What to type instead where a second day or sets are refused; nothing for any other field.
pub(super) fn of_job(path: &str, words: &[String], field: &str) -> Option<String> {
    if field == "first_day" {
        let left = words.iter().filter(|word| *word != "--first-day").cloned();
        return Some(quoted(&left.collect::<Vec<_>>()));
    }
    let (options, view) = match field {
        "job.second_start_time" | "job.second_from_step" => (DAYS.as_slice(), "show"),
        _ if field.starts_with("job.sets") => (["--sets"].as_slice(), "plan"),
        _ => return None,
    };
    if path == "fettle job add" {
        let left = (options.iter()).fold(words.to_vec(), |words, option| without(&words, option));
        return Some(quoted(&left));
    }
    let says = |option: &str| {
        let joined = format!("{option}=");
        words
            .iter()
            .any(|word| word == option || word.starts_with(&joined))
    };
    let left = without(words, "--second-from");
    if field == "job.second_from_step" && says("--second-from") && says("--second-day") {
        return Some(quoted(&left));
    }
    if field == "job.second_start_time" && says("--second-day") {
        return Some(quoted(&with_value(&left, "--second-day", "none")?));
    }
    let at = words.iter().position(|word| word == "edit")?;
    let (before, behind) = words.split_at_checked(at)?;
    let job = behind.iter().skip(1).find(|word| !word.starts_with('-'))?;
    let look = [view.to_owned(), job.clone()];
    let look: Vec<String> = before.iter().cloned().chain(look).collect();
    Some(quoted(&look))
}

#[cfg(test)]
mod tests {
    use super::of_job;

    fn told(line: &str, field: &str) -> String {
        let words: Vec<String> = line.split(' ').map(str::to_owned).collect();
        let path = words.get(..3).unwrap().join(" ");
        of_job(&path, &words, field).unwrap_or_default()
    }

    #[test]
    fn a_refused_day_or_depth_is_looked_up_or_left_out() {
        let edit = "fettle job edit estate --second-day friday";
        let (day, from, sets) = (
            "job.second_start_time",
            "job.second_from_step",
            "job.sets.step",
        );
        assert_eq!(told(edit, day), "fettle job edit estate --second-day none");
        let both = format!("{edit} --second-from cut");
        assert_eq!(told(&both, from), edit);
        let alone = "fettle job edit estate --second-from cut";
        assert_eq!(told(alone, day), "fettle job show estate");
        assert_eq!(told(edit, sets), "fettle job plan estate");
        let add = "fettle job add estate --sets cut=2 --second-day friday --second-from polish";
        assert_eq!(told(add, day), "fettle job add estate --sets cut=2");
        let without = "fettle job add estate --second-day friday --second-from polish";
        assert_eq!(told(add, sets), without);
        assert_eq!(told(edit, "job.car"), "");
        let log = "fettle log estate --first-day";
        assert_eq!(told(log, "first_day"), "fettle log estate");
    }
}
