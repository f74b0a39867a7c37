//! `car readings CAR`: records what a gauge read of a car's film, spot by spot, before or after a job.
//!
//! What was read is the person's to say and what is odd about it the service's. Of a word for several panels, and
//! of few spots, the service says what becomes of them.

use clap::Args;
use clap_complete::ArgValueCompleter;
use fettlebook_contract::v1::{FilmMoment, PanelFilm, RecordFilmRequest};
use fettlebook_quantity::parse_micrometres;

use crate::commands::common::Told;
use crate::commands::doubt::record_told;
use crate::complete;
use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::ids;
use crate::render::{Printer, film};
use crate::request;

/// Words that stand behind figures of film.
const UNITS: &[&str] = &["um", "µm", "μm", "mm", "mil", "mils", "micron", "microns"];
/// What may stand between the spots of a panel.
const BETWEEN: &[char] = &[',', ';', '/', '+'];

/// What `car readings` takes.
#[derive(Args, Debug)]
pub(crate) struct Readings {
    /// Id of the car
    #[arg(value_name = "CAR", value_parser = ids::id, add = ArgValueCompleter::new(complete::cars))]
    pub(crate) car: String,
    /// What the gauge read on each panel, three spots or more, for example bonnet=112,115,118
    #[arg(value_name = "PANEL=SPOTS", required = true)]
    pub(crate) readings: Vec<String>,
    /// The job that it was read before
    #[arg(long, value_name = "JOB", conflicts_with = "after", add = ArgValueCompleter::new(complete::jobs))]
    pub(crate) before: Option<String>,
    /// The job that it was read after
    #[arg(long, value_name = "JOB", add = ArgValueCompleter::new(complete::jobs))]
    pub(crate) after: Option<String>,
    #[command(flatten)]
    pub(crate) told: Told,
}

/// Records it.
pub(crate) async fn perform(
    session: &Session,
    args: &Readings,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let panels = read(&args.readings).map_err(|why| {
        let car = &args.car;
        Fault::usage("PANEL=SPOTS", why)
            .with_example(format!("fettle car readings {car} bonnet=112,115,118"))
    })?;
    let (job, moment) = match (&args.before, &args.after) {
        (Some(job), _) => (job.clone(), FilmMoment::Before),
        (None, Some(job)) => (job.clone(), FilmMoment::After),
        (None, None) => (String::new(), FilmMoment::Unspecified),
    };
    let record = RecordFilmRequest {
        request_id: request::new_id(),
        done_time: args.told.done_time(session)?,
        note: args.told.note(),
        car: args.car.clone(),
        job,
        moment: moment.into(),
        panels,
        validate_only: false,
        kept: None,
    };
    record_told(session, printer, record, film::recorded).await
}

/// Reads `bonnet=112,115,118`, several of them in one word or in many, with the figures apart or the unit behind
/// the last: `bonnet 112 115 118 um roof 98/99/101`.
fn read(words: &[String]) -> Result<Vec<PanelFilm>, String> {
    let line = words.join(" ").replace(':', "=").replace('=', " = ");
    let mut found: Vec<(String, String)> = Vec::new();
    for word in line.split_whitespace().filter(|word| *word != "=") {
        let is_figure =
            word.starts_with(|first: char| first.is_ascii_digit() || "-.,;/+".contains(first));
        let is_unit = UNITS.contains(&word.to_lowercase().as_str());
        match found.last_mut() {
            Some((_, spots)) if is_figure || (is_unit && !spots.is_empty()) => {
                spots.push(' ');
                spots.push_str(word);
            }
            // A name of several words.
            Some((panel, spots)) if spots.is_empty() => {
                panel.push('-');
                panel.push_str(word);
            }
            None if is_figure => {
                return Err(format!("'{word}' stands before any panel"));
            }
            _ => found.push((word.to_owned(), String::new())),
        }
    }
    let panels = found.into_iter().map(|(panel, text)| {
        let spots_um = spots(&panel, &text)?;
        Ok(PanelFilm {
            panel,
            spots_um,
            mean_um: None,
        })
    });
    panels.collect()
}

/// The spots of a panel; a unit behind the last is of all that have none.
fn spots(panel: &str, text: &str) -> Result<Vec<i64>, String> {
    let has_semicolons = text.contains(';');
    let is_between = |mark: char| BETWEEN.contains(&mark) && !(mark == ',' && has_semicolons);
    let mut figures: Vec<String> = Vec::new();
    for word in text.split(|mark: char| mark.is_whitespace() || is_between(mark)) {
        match figures.last_mut() {
            _ if word.is_empty() => {}
            Some(last) if UNITS.contains(&word.to_lowercase().as_str()) => {
                last.push(' ');
                last.push_str(word);
            }
            _ => figures.push(word.to_owned()),
        }
    }
    let is_bare = |figure: &str| {
        figure
            .chars()
            .all(|c| c.is_ascii_digit() || ".,".contains(c))
    };
    let unit = figures.last().map_or("", |last| {
        last.trim_start_matches(|c: char| c.is_ascii_digit() || ".,".contains(c))
    });
    if figures.is_empty() {
        return Err(format!("'{panel}' has no reading"));
    }
    let read = figures.iter().map(|figure| {
        if is_nothing(figure) {
            return Err(format!(
                "'{figure}' is no reading of paint; leave out a panel that was not read"
            ));
        }
        let whole = if is_bare(figure) {
            format!("{figure}{unit}")
        } else {
            figure.clone()
        };
        let film = parse_micrometres(&whole).map_err(|error| error.to_string())?;
        Ok(film.um())
    });
    read.collect()
}

/// Whether a figure says zero, in any unit.
fn is_nothing(figure: &str) -> bool {
    let mut digits = figure.chars().filter(char::is_ascii_digit).peekable();
    digits.peek().is_some() && digits.all(|digit| digit == '0')
}

#[cfg(test)]
mod tests {
    use super::read;

    fn told(line: &str) -> Result<Vec<(String, Vec<i64>)>, String> {
        let words: Vec<String> = line.split('|').map(str::to_owned).collect();
        let read = read(&words)?;
        Ok(read
            .into_iter()
            .map(|one| (one.panel, one.spots_um))
            .collect())
    }

    #[test]
    fn panels_and_spots_are_read_as_people_write_them() {
        let both = vec![
            ("bonnet".to_owned(), vec![112, 115, 118]),
            ("roof".to_owned(), vec![98, 99, 101]),
        ];
        for line in [
            "bonnet=112,115,118|roof=98,99,101",
            "bonnet=112,115,118 roof=98,99,101",
            "bonnet = 112, 115, 118 roof = 98, 99, 101",
            "bonnet:112/115/118|roof:98/99/101",
            "bonnet|112|115|118|roof|98|99|101",
            "bonnet=112;115;118 um roof=98um,99um,101um",
            "bonnet 112,115,118 µm|roof 0.098mm/0.099mm/0.101mm",
        ] {
            assert_eq!(told(line), Ok(both.clone()), "{line}");
        }
        let door = vec![("front-door-left".to_owned(), vec![112])];
        assert_eq!(told("front door left=112"), Ok(door));
        // 1 mil is 25.4 µm: 111.76, 114.3 and 116.84, each rounded down.
        let mils = vec![("bonnet".to_owned(), vec![111, 114, 116])];
        assert_eq!(told("bonnet=4.4,4.5,4.6 mil"), Ok(mils));
    }

    #[test]
    fn what_is_no_reading_is_refused_and_named() {
        for (line, named) in [
            ("bonnet", "'bonnet' has no reading"),
            ("bonnet=", "'bonnet' has no reading"),
            ("112,115", "'112,115'"),
            ("bonnet=thin", "bonnet-thin"),
            ("bonnet=-5,112,115", "-5"),
            ("bonnet=112,0,115", "'0' is no reading of paint"),
            ("bonnet=0.0 mil", "'0.0 mil' is no reading of paint"),
            ("bonnet=112 ml", "ml"),
            ("bonnet=4.5", "'4.5'"),
        ] {
            let why = told(line).unwrap_err();
            assert!(why.contains(named), "{line}: {why}");
        }
    }
}
