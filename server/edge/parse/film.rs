//! Film readings from the wire.
//!
//! It serves `RecordFilm`.

use fettlebook_contract::v1;
use fettlebook_model::command::FilmRead;
use fettlebook_model::film::{OfJob, PanelSpots};
use fettlebook_model::panel::Panel;
use fettlebook_model::{Book, Command, Refusal};
use fettlebook_quantity::Thickness;

use super::{id, open_id, panel_group, said_and_kept};
use crate::edge::words;

pub(in crate::edge) fn record(sent: v1::RecordFilmRequest, _: &Book) -> Result<Command, Refusal> {
    let panels = sent.panels.iter().map(spots);
    Ok(Command::RecordFilm(Box::new(FilmRead {
        car: id("car", &sent.car)?,
        of_job: of_job(&sent.job, sent.moment)?,
        panels: panels.collect::<Result<_, _>>()?,
        said: said_and_kept(sent.done_time, sent.note, sent.kept.as_ref())?,
    })))
}

/// Beside which job, and when beside it: both or neither.
fn of_job(job: &str, moment: i32) -> Result<Option<OfJob>, Refusal> {
    let moment = v1::FilmMoment::try_from(moment)
        .map_err(|_| words::unknown("moment", moment, "FilmMoment"))?;
    match (open_id("job", job)?, moment) {
        (None, v1::FilmMoment::Unspecified) => Ok(None),
        (Some(job), v1::FilmMoment::Before) => Ok(Some(OfJob::Before(job))),
        (Some(job), v1::FilmMoment::After) => Ok(Some(OfJob::After(job))),
        (Some(_), v1::FilmMoment::Unspecified) => Err(Refusal::missing(
            "moment",
            "Say whether it was read before or after the job.",
        )),
        (None, _) => Err(Refusal::missing(
            "job",
            "Name the job that it was read before or after.",
        )),
    }
}

fn spots(sent: &v1::PanelFilm) -> Result<PanelSpots, Refusal> {
    const FIELD: &str = "panels.panel";
    if sent.panel.is_empty() {
        return Err(Refusal::missing(FIELD, "Give its word, such as bonnet."));
    }
    let group = panel_group(FIELD, &sent.panel)?;
    let [panel] = group.as_slice() else {
        let words: Vec<String> = group.iter().map(Panel::to_string).collect();
        return Err(Refusal::invalid(
            FIELD,
            format!("`{}` stands for several panels.", sent.panel),
            format!("Read each by itself: {}.", words.join(", ")),
        ));
    };
    Ok(PanelSpots {
        panel: *panel,
        spots_um: sent
            .spots_um
            .iter()
            .copied()
            .map(Thickness::from_um)
            .collect(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use fettlebook_model::Reason;

    fn sent() -> v1::RecordFilmRequest {
        v1::RecordFilmRequest {
            car: "medium-saloon-silver".to_owned(),
            job: "thursday".to_owned(),
            moment: v1::FilmMoment::After.into(),
            panels: vec![v1::PanelFilm {
                panel: "tailgate".to_owned(),
                spots_um: vec![112, 115, 118],
                mean_um: None,
            }],
            ..v1::RecordFilmRequest::default()
        }
    }

    fn refused(sent: v1::RecordFilmRequest) -> (Reason, String) {
        let refused = record(sent, &Book::new()).unwrap_err();
        (refused.reason, refused.field)
    }

    #[test]
    fn job_and_moment_are_given_together() {
        let Ok(Command::RecordFilm(read)) = record(sent(), &Book::new()) else {
            panic!("it is read");
        };
        assert_eq!(read.of_job, Some(OfJob::After("thursday".parse().unwrap())));
        assert_eq!(read.panels[0].panel, Panel::Boot);
        let neither = v1::RecordFilmRequest {
            job: String::new(),
            moment: 0,
            ..sent()
        };
        assert!(record(neither, &Book::new()).is_ok());
        let no_job = v1::RecordFilmRequest {
            job: String::new(),
            ..sent()
        };
        assert_eq!(refused(no_job), (Reason::FieldMissing, "job".to_owned()));
        let no_moment = v1::RecordFilmRequest {
            moment: 0,
            ..sent()
        };
        assert_eq!(
            refused(no_moment),
            (Reason::FieldMissing, "moment".to_owned())
        );
        let other = v1::RecordFilmRequest {
            moment: 7,
            ..sent()
        };
        assert_eq!(refused(other).1, "moment");
    }

    #[test]
    fn one_word_for_several_panels_is_no_panel_that_was_read() {
        let mut doors = sent();
        doors.panels[0].panel = "doors".to_owned();
        let told = record(doors, &Book::new()).unwrap_err();
        assert_eq!(told.field, "panels.panel");
        assert!(told.to_string().contains("rear-door-right"), "{told}");
        let mut unknown = sent();
        unknown.panels[0].panel = "bonnt".to_owned();
        assert_eq!(refused(unknown).0, Reason::PanelUnknown);
    }
}
