//! Film readings on the wire: what was read when, and what a job took off.
//!
//! What a cut took is told of the whole film and with the error of the gauge; nothing here says how much clear coat
//! is left, or that paint can be cut.

use fettlebook_contract::v1;
use fettlebook_model::film::{FilmSet, OfJob, PanelSpots, SPOTS_MIN};
use fettlebook_model::film_cut::{FilmCut, PanelCut, Removed};
use fettlebook_model::job::Car;
use fettlebook_model::panel::Panel;
use fettlebook_model::policy::Policy;
use fettlebook_quantity::Thickness;

use super::moment;

/// The line below which work on a film needs caution, µm.
pub(in crate::edge) fn caution_line(policy: &Policy) -> Thickness {
    Thickness::from_um(policy.value(fettlebook_model::policy::PolicyKey::FilmOrdinaryUm))
}

/// All that was read of a car, the newest first.
pub(in crate::edge) fn readings(car: &Car) -> Vec<v1::FilmReading> {
    car.film.sets().rev().map(reading).collect()
}

fn reading(set: &FilmSet) -> v1::FilmReading {
    let (job, beside) = match &set.of_job {
        None => (String::new(), v1::FilmMoment::Unspecified),
        Some(OfJob::Before(job)) => (job.to_string(), v1::FilmMoment::Before),
        Some(OfJob::After(job)) => (job.to_string(), v1::FilmMoment::After),
    };
    v1::FilmReading {
        read_time: Some(moment(set.read_at())),
        job,
        moment: beside.into(),
        panels: set.panels.iter().map(panel).collect(),
    }
}

fn panel(spots: &PanelSpots) -> v1::PanelFilm {
    v1::PanelFilm {
        panel: spots.panel.to_string(),
        spots_um: spots.spots_um.iter().map(|one| one.um()).collect(),
        mean_um: spots.mean_um(),
    }
}

/// What a job took off.
pub(in crate::edge) fn cut(cut: &FilmCut) -> v1::FilmCut {
    let removed = cut.removed;
    let limits = removed.and_then(|removed| removed.limits_um);
    v1::FilmCut {
        job: cut.job.to_string(),
        read_time: Some(moment(cut.read_at)),
        panels: cut.panels.iter().map(panel_cut).collect(),
        mean_um: removed.map(|removed| removed.mean_um),
        low_um: limits.map(|(low, _)| low),
        high_um: limits.map(|(_, high)| high),
        error_um: removed.map(|removed| removed.error_um),
        within_error: removed.is_some_and(|removed| removed.is_within_error()),
        thin_panels: words(&cut.thin),
        unpaired_panels: words(&cut.unpaired),
        text: text(cut),
    }
}

fn words(panels: &[Panel]) -> Vec<String> {
    panels.iter().map(Panel::to_string).collect()
}

fn panel_cut(cut: &PanelCut) -> v1::PanelCut {
    v1::PanelCut {
        panel: cut.panel.to_string(),
        before_um: cut.before_um,
        after_um: cut.after_um,
        removed_um: cut.removed_um(),
    }
}

fn text(cut: &FilmCut) -> String {
    let mut told = match cut.removed {
        None => format!("What {} took is not known.", cut.job),
        Some(removed) => taken(cut, removed),
    };
    if !cut.thin.is_empty() {
        let panels = words(&cut.thin).join(", ");
        told.push_str(&format!(
            " Read in fewer than {SPOTS_MIN} spots before or after, and in no mean: {panels}."
        ));
    }
    if !cut.unpaired.is_empty() {
        let panels = words(&cut.unpaired).join(", ");
        told.push_str(&format!(" Not read before it: {panels}."));
    }
    told
}

fn taken(cut: &FilmCut, removed: Removed) -> String {
    let (job, mean, error) = (&cut.job, removed.mean_um, removed.error_um);
    let panels = match cut.panels.len() {
        1 => "1 panel".to_owned(),
        count => format!("{count} panels"),
    };
    let limits = removed.limits_um.map_or_else(
        || "too few for limits".to_owned(),
        |(low, high)| format!("90 % limits {low:.1} to {high:.1} µm"),
    );
    let error = if removed.is_within_error() {
        format!("within the gauge's error of ± {error:.1} µm")
    } else {
        format!("the gauge's error is ± {error:.1} µm")
    };
    format!("{job} took {mean:.1} µm of film on the mean of {panels} ({limits}), {error}.")
}

/// The sentence of a reading, about `subject`.
pub(super) fn read(subject: &str, of_job: Option<&OfJob>, panels: &[PanelSpots]) -> String {
    let beside = match of_job {
        None => String::new(),
        Some(OfJob::Before(job)) => format!(" before {job}"),
        Some(OfJob::After(job)) => format!(" after {job}"),
    };
    let each = panels.iter().map(|one| {
        let spots: Vec<String> = one.spots_um.iter().map(|um| um.um().to_string()).collect();
        let few = if one.is_thin() { " (no mean)" } else { "" };
        format!("{} {} µm{few}", one.panel, spots.join(", "))
    });
    let each: Vec<String> = each.collect();
    format!("{subject}: film read{beside}, {}.", each.join("; "))
}

#[cfg(test)]
mod tests {
    use super::*;
    use fettlebook_model::Moment;

    fn removed(mean_um: f64, limits_um: Option<(f64, f64)>) -> FilmCut {
        let panel = |panel| PanelCut {
            panel,
            before_um: 110.0,
            after_um: 110.0 - mean_um,
        };
        FilmCut {
            job: "thursday".parse().unwrap(),
            read_at: Moment::UNIX_EPOCH,
            panels: vec![panel(Panel::Bonnet), panel(Panel::Roof)],
            thin: Vec::new(),
            unpaired: vec![Panel::Boot],
            removed: Some(Removed {
                mean_um,
                limits_um,
                error_um: 5.3,
            }),
        }
    }

    /// The wording promises nothing and names no clear coat that is left.
    #[test]
    fn what_a_cut_took_is_told_beside_the_error_of_the_gauge() {
        let within = cut(&removed(2.75, Some((1.9, 3.6))));
        assert!(within.within_error);
        assert_eq!(
            within.text,
            "thursday took 2.8 µm of film on the mean of 2 panels (90 % limits 1.9 to 3.6 µm), within the gauge's \
             error of ± 5.3 µm. Not read before it: boot."
        );
        let beyond = cut(&removed(9.0, None));
        assert!(!beyond.within_error);
        assert!(
            beyond.text.contains("too few for limits"),
            "{}",
            beyond.text
        );
        assert!(beyond.text.contains("the gauge's error is ± 5.3 µm"));
        let none = FilmCut {
            removed: None,
            thin: vec![Panel::Roof],
            ..removed(0.0, None)
        };
        let none = cut(&none).text;
        assert!(
            none.starts_with("What thursday took is not known. Read in fewer than 3"),
            "{none}"
        );
        for told in [within.text, beyond.text, none] {
            assert!(
                !told.contains("clear coat") && !told.contains("safe"),
                "{told}"
            );
        }
    }
}
