//! The conversation: what is asked, in which order, and what each answer means.
//!
//! Every answer can be taken back a step, and comes up again as it was. Nothing is recorded here; what comes
//! of it is a request.

use std::collections::BTreeMap;

use fettlebook_contract::v1::make::Figures;
use fettlebook_contract::v1::{CarClass, Make, StartPrice, StartRequest, StarterKit, StarterMake};

use jiff::ZonedDateTime;

use super::asker::{Asker, Line, Reply};
use super::{first_job, pieces};
use crate::fault::Fault;
use crate::request;
use crate::said::price;
use crate::when::{self, Toward};
use crate::word;

/// What is asked.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Step {
    /// Which machines.
    Kit,
    /// How much there is of a make.
    HowMuch(usize),
    /// Whether prices are told now.
    Prices,
    /// What a make costs.
    Price(usize),
    /// Class of the first car.
    Class,
    /// What tells it from others.
    Colour,
    /// When it comes.
    When,
    /// By which routine it is worked.
    Routine,
}

/// What is known before anything is asked.
pub(super) struct Known<'a> {
    /// The kits there are.
    pub(super) kits: &'a [StarterKit],
    /// The one that was named already.
    pub(super) kit: Option<usize>,
    /// Where the things are.
    pub(super) place: Option<&'a str>,
    /// Currency of prices that name none.
    pub(super) currency: Option<&'a str>,
    /// The present moment where the person is.
    pub(super) now: ZonedDateTime,
}

/// A conversation as far as it has come.
pub(super) struct Talk<'a> {
    known: Known<'a>,
    kit: usize,
    /// What was said of makes, by their ids.
    amounts: BTreeMap<String, String>,
    prices: BTreeMap<String, String>,
    tells_prices: bool,
    /// Number of the class among the answers; the last of them is *no car yet*.
    class: usize,
    colour: String,
    when: String,
    routine: usize,
}

impl<'a> Talk<'a> {
    /// A conversation that begins.
    pub(super) fn new(known: Known<'a>) -> Self {
        let middle = classes()
            .iter()
            .position(|class| *class == CarClass::MediumSaloon);
        Self {
            kit: known.kit.unwrap_or_default(),
            known,
            amounts: BTreeMap::new(),
            prices: BTreeMap::new(),
            tells_prices: false,
            class: middle.unwrap_or_default(),
            colour: String::new(),
            when: first_job::USUALLY_WHEN.to_owned(),
            routine: 0,
        }
    }

    /// Asks from a step on until all is said; whether it was left. `at` is where it stands, so that it can go
    /// on there.
    ///
    /// # Errors
    /// When the terminal fails.
    pub(super) fn hold(&mut self, asker: &mut dyn Asker, at: &mut usize) -> Result<bool, Fault> {
        while let Some(step) = self.steps().get(*at).copied() {
            match self.ask(asker, step)? {
                Reply::Said(()) => *at = at.saturating_add(1),
                Reply::Back if *at > 0 => *at = at.saturating_sub(1),
                Reply::Back | Reply::Left => return Ok(true),
            }
        }
        Ok(false)
    }

    /// What is asked, as far as it depends on what was said.
    fn steps(&self) -> Vec<Step> {
        let mut steps = Vec::new();
        if self.known.kit.is_none() {
            steps.push(Step::Kit);
        }
        let asked = self.makes().iter().enumerate();
        let asked = asked.filter(|(_, one)| is_asked(one));
        steps.extend(asked.map(|(index, _)| Step::HowMuch(index)));
        steps.push(Step::Prices);
        if self.tells_prices {
            let unpriced = self.makes().iter().enumerate();
            let unpriced = unpriced.filter(|(_, one)| make(one).price.is_none());
            steps.extend(unpriced.map(|(index, _)| Step::Price(index)));
        }
        steps.push(Step::Class);
        if classes().get(self.class).is_some() {
            steps.extend([Step::Colour, Step::When, Step::Routine]);
        }
        steps
    }

    fn kit(&self) -> Option<&'a StarterKit> {
        self.known.kits.get(self.kit)
    }

    fn makes(&self) -> &'a [StarterMake] {
        self.kit()
            .map(|kit| kit.makes.as_slice())
            .unwrap_or_default()
    }

    fn ask(&mut self, asker: &mut dyn Asker, step: Step) -> Result<Reply<()>, Fault> {
        match step {
            Step::Kit => {
                let kits = self.known.kits.iter();
                let names: Vec<String> = kits.map(|kit| kit.name.clone()).collect();
                let said = asker.which("Which machines do you work with?", &names, self.kit)?;
                Ok(put(&mut self.kit, said))
            }
            Step::HowMuch(index) => self.ask_how_much(asker, index),
            Step::Prices => {
                let answers = ["later".to_owned(), "now".to_owned()];
                let usual = usize::from(self.tells_prices);
                let said = asker.which("What things cost: later or now?", &answers, usual)?;
                Ok(put(&mut self.tells_prices, said.turned(|index| index == 1)))
            }
            Step::Price(index) => self.ask_price(asker, index),
            Step::Class => {
                let words = classes().into_iter().map(word::word);
                let mut answers: Vec<String> = words.map(|word| word.replace('-', " ")).collect();
                answers.push("no car yet".to_owned());
                let said = asker.which("The first car?", &answers, self.class)?;
                Ok(put(&mut self.class, said))
            }
            Step::Colour => {
                let line = Line {
                    question: "Its colour?".to_owned(),
                    usual: self.colour.clone(),
                    help: "a word that tells it from others; Enter for none".to_owned(),
                    wrong: &|_| None,
                };
                let said = asker.line(&line)?;
                Ok(put(&mut self.colour, said))
            }
            Step::When => self.ask_when(asker),
            Step::Routine => {
                let routines = self
                    .kit()
                    .map(|kit| kit.routines.as_slice())
                    .unwrap_or_default();
                let names: Vec<String> = routines.iter().map(|one| one.name.clone()).collect();
                let said = asker.which("Worked how?", &names, self.routine)?;
                Ok(put(&mut self.routine, said))
            }
        }
    }

    fn ask_how_much(&mut self, asker: &mut dyn Asker, index: usize) -> Result<Reply<()>, Fault> {
        let Some(one) = self.makes().get(index) else {
            return Ok(Reply::Said(()));
        };
        let make = make(one);
        let usual = self.amounts.get(&make.make).cloned();
        let line = Line {
            question: how_much(one),
            usual: usual.unwrap_or_else(|| pieces::usually(one)),
            help: help_of(make).to_owned(),
            wrong: &|said| pieces::read(make, said).err(),
        };
        Ok(match asker.line(&line)? {
            Reply::Said(said) => {
                self.amounts.insert(make.make.clone(), said);
                Reply::Said(())
            }
            other => other.turned(|_| ()),
        })
    }

    fn ask_price(&mut self, asker: &mut dyn Asker, index: usize) -> Result<Reply<()>, Fault> {
        let Some(one) = self.makes().get(index) else {
            return Ok(Reply::Said(()));
        };
        let make = make(one);
        let currency = self.known.currency;
        let said = |said: &str| (!said.trim().is_empty()).then(|| price::read(said, currency));
        let line = Line {
            question: format!("What does {} cost as it is sold?", make.name),
            usual: self.prices.get(&make.make).cloned().unwrap_or_default(),
            help: "18.90, or 18.90 for 2; Enter where you do not know".to_owned(),
            wrong: &|text| said(text).and_then(Result::err),
        };
        Ok(match asker.line(&line)? {
            Reply::Said(said) => {
                self.prices.insert(make.make.clone(), said);
                Reply::Said(())
            }
            other => other.turned(|_| ()),
        })
    }

    fn ask_when(&mut self, asker: &mut dyn Asker) -> Result<Reply<()>, Fault> {
        let now = &self.known.now;
        let line = Line {
            question: "When does it come?".to_owned(),
            usual: self.when.clone(),
            help: format!("{}, thu 08:00", first_job::USUALLY_WHEN),
            wrong: &|said| match when::moment(said, now, Toward::Ahead) {
                Ok(start) if start.timestamp() < now.timestamp() => Some(format!(
                    "'{said}' is past; say when it is to come, as tomorrow 08:00"
                )),
                Ok(_) => None,
                Err(why) => Some(why),
            },
        };
        let said = asker.line(&line)?;
        Ok(put(&mut self.when, said))
    }

    /// What was said, as a request.
    ///
    /// # Errors
    /// When an answer that was understood is not any more.
    pub(super) fn request(&self) -> Result<StartRequest, Fault> {
        let Some(kit) = self.kit() else {
            return Err(Fault::answer("a starter kit"));
        };
        let mut request = StartRequest {
            request_id: request::new_id(),
            starter_kit: kit.starter_kit.clone(),
            ..StartRequest::default()
        };
        for one in &kit.makes {
            let make = make(one);
            let said = self.amounts.get(&make.make).filter(|_| is_asked(one));
            let said = said.cloned().unwrap_or_else(|| pieces::usually(one));
            let rows = pieces::read(make, &said).map_err(|why| Fault::usage("start", why))?;
            let rows = rows
                .into_iter()
                .map(|row| pieces::at(row, self.known.place));
            request.pieces.extend(rows);
            let said = self
                .prices
                .get(&make.make)
                .filter(|said| !said.trim().is_empty());
            if let Some(said) = said.filter(|_| self.tells_prices) {
                let said = price::read(said, self.known.currency);
                let said = said.map_err(|why| Fault::usage("start", why))?;
                request.prices.push(StartPrice {
                    row: 0,
                    make: make.make.clone(),
                    price: Some(said.price),
                    pack_count: said.pack,
                });
            }
        }
        if let Some(class) = classes().get(self.class) {
            let when = Some(self.when.as_str());
            first_job::put(
                &self.known.now,
                &mut request,
                kit,
                *class,
                &self.colour,
                when,
            )?;
            let routine = kit.routines.get(self.routine);
            if let (Some(job), Some(routine)) = (&mut request.job, routine) {
                job.routine.clone_from(&routine.routine);
            }
        }
        Ok(request)
    }
}

/// The make of a kit's row.
fn make(one: &StarterMake) -> &Make {
    static NONE: std::sync::OnceLock<Make> = std::sync::OnceLock::new();
    one.make
        .as_ref()
        .unwrap_or_else(|| NONE.get_or_init(Make::default))
}

/// Machines and plates are what the kit is named by: one of each, and nobody is asked.
fn is_asked(one: &StarterMake) -> bool {
    !matches!(
        make(one).figures,
        Some(Figures::Machine(_) | Figures::Plate(_))
    )
}

fn classes() -> Vec<CarClass> {
    word::values().collect()
}

/// The question of how much there is of a make.
fn how_much(one: &StarterMake) -> String {
    let make = make(one);
    let (name, held) = (&make.name, one.held_count);
    let question = match &make.figures {
        Some(Figures::Liquid(_)) => format!("{name}: how full?"),
        Some(Figures::Tool(_)) => format!("{name}: have you one?"),
        _ => format!("{name}: how many?"),
    };
    if held == 0 {
        question
    } else {
        format!("{question} Beside the {held} in the book.")
    }
}

/// How the amount of a make may be said.
const fn help_of(make: &Make) -> &'static str {
    match &make.figures {
        Some(Figures::Pad(_)) => {
            "5, or with jobs behind them 5 2x8 (two of them 8 jobs each); none"
        }
        Some(Figures::Liquid(_)) => {
            "full, 3/4, half, or on the scale 431 g; two bottles: full, half; none"
        }
        Some(Figures::Towel(_)) => "24, or 2x12 where they are washed apart; none",
        Some(Figures::Sundry(_)) => {
            "whole packs as 1 or 2, half, or what is left, as 30 pairs, 20 m; none"
        }
        _ => "1, or none",
    }
}

/// Puts what was said where it belongs.
fn put<T>(place: &mut T, reply: Reply<T>) -> Reply<()> {
    reply.turned(|said| *place = said)
}

#[cfg(test)]
mod tests;
