//! How panels that differ from their class are written: measured, left out, film read.
//!
//! It serves `car add` and `car edit`. Panel words are the service's; an unknown one is refused
//! there.

use clap::Args;
use fettlebook_contract::v1::{AreaBasis, Panel, PanelPart, Reach};
use fettlebook_quantity::{parse_area, parse_micrometres};

use crate::options::figure;
use crate::word;

/// Options about panels.
#[derive(Args, Clone, Debug, Default)]
pub(crate) struct PanelOptions {
    /// Measured panel, for example 'bonnet=1200 mm x 900 mm' or 'bonnet=1.1 m2'
    #[arg(long, value_name = "PANEL=AREA", value_parser = measured)]
    pub(crate) measure: Vec<(String, i64)>,
    /// Panels that are not polished: bare plastic, film, glass
    #[arg(long, value_name = "PANELS", value_delimiter = ',')]
    pub(crate) leave_out: Vec<String>,
    /// Lowest film reading of a panel, for example 'bonnet=110 um' or bonnet=112um,roof=98um
    #[arg(long, value_name = "PANEL=FILM", value_delimiter = ',', value_parser = film)]
    pub(crate) film: Vec<(String, i64)>,
    /// What a panel takes where machines share a step: big, spot, pencil or hand, for example sills=hand or
    /// 'doors=big 90 % + spot 10 %'; usual for what is usual
    #[arg(long, value_name = "PANEL=REACH", value_parser = reach)]
    pub(crate) reach: Vec<(String, Vec<PanelPart>)>,
}

fn split(text: &str) -> Result<(&str, &str), String> {
    text.split_once('=')
        .map(|(panel, value)| (panel.trim(), value.trim()))
        .filter(|(panel, value)| !panel.is_empty() && !value.is_empty())
        .ok_or_else(|| format!("'{text}' is not written as PANEL=VALUE, for example bonnet=1.1 m2"))
}

fn measured(text: &str) -> Result<(String, i64), String> {
    let (panel, area) = split(text)?;
    let area = parse_area(area).map_err(|error| error.to_string())?;
    Ok((panel.to_owned(), area.mm2()))
}

fn film(text: &str) -> Result<(String, i64), String> {
    let (panel, reading) = split(text)?;
    let reading = parse_micrometres(reading).map_err(|error| error.to_string())?;
    Ok((panel.to_owned(), reading.um()))
}

/// Reads `sills=hand`, `doors=big 90 % + spot 10 %`, or `doors=usual`, which is no part.
fn reach(text: &str) -> Result<(String, Vec<PanelPart>), String> {
    let (panel, parts) = split(text)?;
    if parts == "usual" {
        return Ok((panel.to_owned(), Vec::new()));
    }
    let parts = parts.split('+').map(|part| {
        let (reach, share) = part
            .trim()
            .split_once(' ')
            .unwrap_or((part.trim(), "100 %"));
        let reach = word::find::<Reach>(reach)
            .ok_or_else(|| format!("'{reach}' is not one of {}", word::list::<Reach>()))?;
        Ok(PanelPart {
            reach: reach.into(),
            permille: figure(share, &["%"], 1)?,
        })
    });
    Ok((panel.to_owned(), parts.collect::<Result<_, String>>()?))
}

impl PanelOptions {
    /// Whether nothing was given.
    pub(crate) const fn is_empty(&self) -> bool {
        let says_nothing = self.measure.is_empty() && self.leave_out.is_empty();
        says_nothing && self.film.is_empty() && self.reach.is_empty()
    }

    /// The same with `all` for each panel that the car has.
    pub(crate) fn of_every(&self, panels: &[String]) -> Self {
        let film = self.film.iter().flat_map(|(panel, um)| {
            let named = if panel == "all" {
                panels
            } else {
                std::slice::from_ref(panel)
            };
            named
                .iter()
                .map(|panel| (panel.clone(), *um))
                .collect::<Vec<_>>()
        });
        Self {
            film: film.collect(),
            ..self.clone()
        }
    }

    /// Puts what was given into the panels that differ already.
    pub(crate) fn put_into(&self, panels: &mut Vec<Panel>) {
        for (panel, area_mm2) in &self.measure {
            named(panels, panel, |found| found.measured_mm2 = Some(*area_mm2));
        }
        for panel in &self.leave_out {
            named(panels, panel, |found| found.left_out = true);
        }
        for (panel, film_um) in &self.film {
            named(panels, panel, |found| found.film_um = Some(*film_um));
        }
        for (panel, parts) in &self.reach {
            named(panels, panel, |found| found.parts.clone_from(parts));
        }
    }
}

/// Changes the panel of that word, which is put at the end when it is not there.
pub(crate) fn named(panels: &mut Vec<Panel>, word: &str, change: impl FnOnce(&mut Panel)) {
    if let Some(found) = panels.iter_mut().find(|panel| panel.panel == word) {
        change(found);
        return;
    }
    let mut panel = Panel {
        panel: word.to_owned(),
        ..Panel::default()
    };
    change(&mut panel);
    panels.push(panel);
}

/// The panels that differ from what class or dimensions say, as they are sent back in an edit:
/// without what the service works out from them.
pub(crate) fn differing(panels: Vec<Panel>) -> Vec<Panel> {
    panels
        .into_iter()
        .filter(|panel| {
            let is_said = panel.film_um.is_some() || panel.measured_mm2.is_some();
            is_said || panel.left_out || !panel.parts.is_empty()
        })
        .map(|panel| Panel {
            area_mm2: 0,
            basis: AreaBasis::Unspecified.into(),
            usual_reach: Reach::Unspecified.into(),
            lowest_film_um: None,
            above_caution_um: None,
            ..panel
        })
        .collect()
}

#[cfg(test)]
mod tests;
