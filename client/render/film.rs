//! Film over time: what was read of each panel, what is left above the line of caution, and what jobs took.
//!
//! All of it is told of the whole film and beside the gauge's error; nothing here is told of the clear coat, and
//! the caution of the service stands below.

use fettlebook_contract::v1::{
    FilmCut, FilmReading, GetCarResponse, Panel, PanelFilm, RecordFilmResponse,
};

use crate::render::screen::{Screen, several};
use crate::render::table::{Column, table};
use crate::render::{amount, entry, tint};

/// An entry with readings, and what the job took by them.
pub(crate) fn recorded(screen: &Screen, answer: &RecordFilmResponse) -> String {
    let mut told = answer
        .entry
        .as_ref()
        .map_or_else(String::new, |found| entry::recorded(screen, found));
    if let Some(cut) = &answer.film_cut {
        told = format!("{told}\n\n{}", screen.hung("", "", &cut.text));
    }
    told
}

/// What is known of a car's film; nothing where none was read.
pub(crate) fn known(screen: &Screen, answer: &GetCarResponse) -> Option<String> {
    let car = answer.car.as_ref()?;
    let read = car
        .panels
        .iter()
        .filter(|panel| panel.lowest_film_um.is_some());
    let mut readings = Readings::default();
    let rows: Vec<Vec<String>> = read
        .map(|panel| row(&mut readings, answer, panel))
        .collect();
    if rows.is_empty() {
        return None;
    }
    let line = amount::film(answer.caution_line_um);
    let above = format!("Above {line}");
    let films = table(
        screen,
        &[
            ("Film", Column::Name),
            ("Read", Column::Text),
            ("Spots", Column::Text),
            ("Mean", Column::Right),
            ("Lowest", Column::Right),
            (above.as_str(), Column::Right),
        ],
        rows,
    );
    let mut parts = vec![readings.below(screen, films)];
    if !answer.film_cuts.is_empty() {
        parts.push(cuts(screen, &answer.film_cuts));
    }
    let caution = format!(
        "Below {line} work needs caution. What lies above it is whole film, by the lowest spot that counts: it is not \
         clear coat, and no promise that paint can be cut. The data sheets go before it. {}",
        answer.film_caution
    );
    parts.push(screen.hung("", "", &caution));
    Some(parts.join("\n\n"))
}

/// The readings that a list of panels names: by a number each, for when it was and beside which job is long, and
/// stands once below.
#[derive(Default)]
struct Readings<'a>(Vec<&'a FilmReading>);

impl<'a> Readings<'a> {
    /// The mark of a reading.
    fn mark(&mut self, set: &'a FilmReading) -> String {
        let at = self.0.iter().position(|one| std::ptr::eq(*one, set));
        let at = at.unwrap_or_else(|| {
            self.0.push(set);
            self.0.len().saturating_sub(1)
        });
        marked(at)
    }

    /// The list, and below it each reading by its mark.
    fn below(&self, screen: &Screen, mut list: String) -> String {
        for (at, set) in self.0.iter().enumerate() {
            let told = format!("{} {}", marked(at), when(screen, set));
            list.push('\n');
            list.push_str(&screen.hung("", "    ", &told));
        }
        list
    }
}

/// The mark of the reading at a place of the list.
fn marked(at: usize) -> String {
    format!("({})", at.saturating_add(1))
}

fn row<'a>(readings: &mut Readings<'a>, answer: &'a GetCarResponse, panel: &Panel) -> Vec<String> {
    let newest = answer
        .film_readings
        .iter()
        .find_map(|set| Some((set, set.panels.iter().find(|one| one.panel == panel.panel)?)));
    let (read, spots, mean) = match newest {
        None => ("as said".to_owned(), String::new(), String::new()),
        Some((set, one)) => (readings.mark(set), listed(one), mean(one)),
    };
    let above = panel.above_caution_um.unwrap_or_default();
    let above = if above < 0 {
        tint::warn(&amount::film(above))
    } else {
        amount::film(above)
    };
    let lowest = panel.lowest_film_um.unwrap_or_default();
    vec![
        panel.panel.clone(),
        read,
        spots,
        mean,
        amount::film(lowest),
        above,
    ]
}

fn when(screen: &Screen, set: &FilmReading) -> String {
    use fettlebook_contract::v1::FilmMoment;
    let at = screen.moment_or(set.read_time.as_ref(), "at no known time");
    // The day alone.
    let at = at.split_once(' ').map_or(at.as_str(), |(_, day)| day);
    let at = at.rsplit_once(' ').map_or(at, |(day, _)| day).to_owned();
    match set.moment() {
        FilmMoment::Unspecified => at,
        FilmMoment::Before => format!("{at}, before {}", set.job),
        FilmMoment::After => format!("{at}, after {}", set.job),
    }
}

fn listed(one: &PanelFilm) -> String {
    let spots: Vec<String> = one.spots_um.iter().map(ToString::to_string).collect();
    spots.join(", ")
}

fn mean(one: &PanelFilm) -> String {
    one.mean_um
        .map_or_else(|| "too few".to_owned(), |mean| format!("{mean:.1} µm"))
}

/// What jobs took off, the last one first.
fn cuts(screen: &Screen, cuts: &[FilmCut]) -> String {
    let rows = cuts.iter().map(|cut| {
        let panels = i64::try_from(cut.panels.len()).unwrap_or(i64::MAX);
        let limits = match (cut.low_um, cut.high_um, cut.mean_um) {
            (Some(low), Some(high), _) => format!("{low:.1} to {high:.1} µm"),
            (_, _, None) => String::new(),
            _ => "too few panels".to_owned(),
        };
        let error = cut.error_um.map_or_else(String::new, |error| {
            let within = if cut.within_error { ": within it" } else { "" };
            format!("± {error:.1} µm{within}")
        });
        let took = cut
            .mean_um
            .map_or_else(|| "not known".to_owned(), |mean| format!("{mean:.1} µm"));
        vec![
            cut.job.clone(),
            several(panels, "panel", "panels"),
            took,
            limits,
            error,
        ]
    });
    let mut told = table(
        screen,
        &[
            ("Took off", Column::Name),
            ("Read in", Column::Right),
            ("Mean", Column::Right),
            ("90 % limits", Column::Right),
            ("Gauge's error", Column::Text),
        ],
        rows,
    );
    for cut in cuts {
        for (panels, why) in [
            (
                &cut.thin_panels,
                "in too few spots before or after, and in no mean",
            ),
            (&cut.unpaired_panels, "not read before it"),
        ] {
            if !panels.is_empty() {
                let note = format!("{}: {} {why}.", cut.job, panels.join(", "));
                told = format!("{told}\n{}", screen.hung("", "  ", &note));
            }
        }
    }
    told
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::render::scenario::{at, plain, screen};
    use fettlebook_contract::v1::{Car, FilmMoment};

    fn film(panel: &str, spots_um: &[i64], mean_um: Option<f64>) -> PanelFilm {
        PanelFilm {
            panel: panel.to_owned(),
            spots_um: spots_um.to_vec(),
            mean_um,
        }
    }

    fn read(job: &str, moment: FilmMoment, panels: Vec<PanelFilm>) -> FilmReading {
        FilmReading {
            read_time: at(-15),
            job: job.to_owned(),
            moment: moment.into(),
            panels,
        }
    }

    fn answer() -> GetCarResponse {
        let panel = |panel: &str, lowest| Panel {
            panel: panel.to_owned(),
            lowest_film_um: Some(lowest),
            above_caution_um: Some(lowest - 100),
            ..Panel::default()
        };
        let after = vec![
            film("bonnet", &[109, 111, 113], Some(111.0)),
            film("roof", &[97], None),
        ];
        let before = vec![film("bonnet", &[112, 115, 118], Some(115.0))];
        GetCarResponse {
            car: Some(Car {
                panels: vec![panel("bonnet", 109), panel("roof", 97), panel("boot", 120)],
                ..Car::default()
            }),
            film_readings: vec![
                read("thursday", FilmMoment::After, after),
                read("thursday", FilmMoment::Before, before),
            ],
            film_cuts: vec![FilmCut {
                job: "thursday".to_owned(),
                mean_um: Some(4.0),
                error_um: Some(5.45),
                within_error: true,
                unpaired_panels: vec!["roof".to_owned()],
                ..FilmCut::default()
            }],
            caution_line_um: 100,
            film_caution: "Guidance only.".to_owned(),
        }
    }

    #[test]
    fn film_is_told_panel_by_panel_with_what_a_job_took_and_the_caution() {
        let told = plain(&known(&screen(90), &answer()).unwrap());
        let line = |panel: &str| {
            let mut lines = told.lines();
            lines
                .find(|line| line.starts_with(panel))
                .unwrap()
                .to_owned()
        };
        assert!(line("bonnet").contains("109, 111, 113") && line("bonnet").ends_with("9 µm"));
        assert!(
            line("roof").contains("too few") && line("roof").ends_with("-3 µm"),
            "{told}"
        );
        assert!(line("boot").contains("as said") && line("boot").ends_with("20 µm"));
        // When it was read is told once, and by its mark beside each panel.
        assert!(line("bonnet").contains("(1)") && line("roof").contains("(1)"));
        assert!(line("(1)").ends_with(", after thursday"), "{told}");
        assert_eq!(told.matches("after thursday").count(), 1, "{told}");
        assert!(line("thursday").contains("4.0 µm") && line("thursday").contains("too few panels"));
        assert!(
            told.contains("± 5.5 µm: within it") || told.contains("± 5.4 µm: within it"),
            "{told}"
        );
        assert!(
            told.contains("thursday: roof not read before it."),
            "{told}"
        );
        assert!(
            told.contains("Below 100 µm work needs caution") && told.ends_with("Guidance only.")
        );
        let none = GetCarResponse {
            car: Some(Car::default()),
            ..answer()
        };
        assert_eq!(known(&screen(90), &none), None);
    }

    /// Nothing is broken inside a word or a figure, however narrow the page.
    #[test]
    fn on_a_narrow_page_each_panel_is_a_card() {
        let told = plain(&known(&screen(40), &answer()).unwrap());
        assert!(
            told.lines().all(|line| line.chars().count() <= 40),
            "{told}"
        );
        assert!(
            told.contains("109, 111, 113") && told.contains("-3 µm"),
            "{told}"
        );
    }
}
