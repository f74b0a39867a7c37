//! Lines of the check: what is needed, what is there, why, and what to do.
//!
//! Serves every part of the check and whoever shows it. A line only ever gets graver; it must
//! never take a verdict back, nor ask for something without saying why.

use std::collections::BTreeMap;
use std::sync::Arc;

use jiff::fmt::strtime;
use jiff::tz::Offset;

use crate::Moment;
use crate::ground::ids::{Id, Place, Tag, list};
use crate::ready::pick::{Holding, PadsAhead, Reach, Scene, draw};
use crate::trade::kit::Piece;
use crate::trade::make::Unit;

/// What the check says, least grave first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Verdict {
    /// The kit carries it.
    Go,
    /// It may go, with an eye on what the reason names.
    Watch,
    /// Do not start before it is mended.
    Stop,
}

/// What a line is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum LineKind {
    /// A machine.
    Machine,
    /// A backing plate.
    Plate,
    /// Pads.
    Pad,
    /// Liquid.
    Liquid,
    /// Towels.
    Towel,
    /// A sundry.
    Sundry,
    /// A tool.
    Tool,
    /// Paint film.
    Film,
    /// Hand-arm vibration.
    Vibration,
    /// Noise.
    Noise,
    /// The car itself.
    Car,
    /// The hours of the job.
    Time,
    /// Batteries of cordless machines.
    Battery,
}

/// One piece picked for a line.
#[derive(Debug, Clone, PartialEq)]
pub struct Pick {
    /// Tag.
    pub tag: Tag,
    /// Quantity taken, in the line's unit.
    pub quantity: i64,
    /// Not planned to work.
    pub spare: bool,
    /// Damage before the job, for what wears.
    pub damage: Option<f64>,
}

impl Pick {
    /// This quantity of a piece that does not wear.
    pub(super) const fn of(tag: Tag, quantity: i64) -> Self {
        Self {
            tag,
            quantity,
            spare: false,
            damage: None,
        }
    }
}

/// One line of the check.
#[derive(Debug, Clone, PartialEq)]
pub struct Line {
    /// What it is about.
    pub kind: LineKind,
    /// Step it belongs to.
    pub step: Option<Id>,
    /// What is needed, in words.
    pub what: String,
    /// Make it is about.
    pub make: Option<Id>,
    /// Needed.
    pub need: i64,
    /// At the place, and eligible.
    pub have: i64,
    /// Missing: neither at the place nor to be brought in time.
    pub short: i64,
    /// Unit of the quantities; `None` for a line without any.
    pub unit: Option<Unit>,
    /// Verdict of the line.
    pub verdict: Verdict,
    /// Why.
    pub reason: String,
    /// The same, sentence by sentence, where somebody may be hurt by what runs together: of plates.
    pub reasons: Vec<String>,
    /// What to do about it.
    pub todos: Vec<String>,
    /// The pick list.
    pub picks: Vec<Pick>,
    /// Probability that what is picked or held carries the job; `None` without such a figure.
    pub chance: Option<f64>,
    /// What that probability rests on, a sentence.
    pub rests_on: String,
    /// What to buy before the start, in the line's unit or whole bottles; 0 for nothing.
    pub buy: i64,
    /// Need by the plan alone, where real use is taken into account.
    pub planned: Option<i64>,
    /// The pads that go, for weighing all steps of the job together.
    pub(super) ahead: Option<PadsAhead>,
}

impl Line {
    /// A line that goes, about this, until something says otherwise.
    pub(super) fn new(kind: LineKind, step: Option<&Id>, what: impl Into<String>) -> Self {
        Self {
            kind,
            step: step.cloned(),
            what: what.into(),
            make: None,
            need: 0,
            have: 0,
            short: 0,
            unit: None,
            verdict: Verdict::Go,
            reason: String::new(),
            reasons: Vec::new(),
            todos: Vec::new(),
            picks: Vec::new(),
            chance: None,
            rests_on: String::new(),
            buy: 0,
            planned: None,
            ahead: None,
        }
    }

    /// Sets need and have, and stops the line when it is short.
    pub(super) fn counts(&mut self, need: i64, have: i64, unit: Unit) {
        self.counts_as(need, have, unit, |_, _| Verdict::Stop);
    }

    /// Sets need and have; how grave it is to be short follows from what is needed and what is missing.
    pub(super) fn counts_as(
        &mut self,
        need: i64,
        have: i64,
        unit: Unit,
        gravity: impl FnOnce(i64, i64) -> Verdict,
    ) {
        self.need = need;
        self.have = have;
        self.unit = Some(unit);
        self.short = need.saturating_sub(have).max(0);
        if self.short > 0 {
            self.raise(
                gravity(need, self.short),
                format!("Short by {}.", unit.show(self.short)),
            );
        }
    }

    /// Makes the verdict at least this grave and adds the reason.
    pub(super) fn raise(&mut self, to: Verdict, why: impl AsRef<str>) {
        self.verdict = self.verdict.max(to);
        if !self.reason.is_empty() {
            self.reason.push(' ');
        }
        self.reason.push_str(why.as_ref());
        if self.kind == LineKind::Plate {
            self.reasons.push(why.as_ref().to_owned());
        }
    }

    /// Adds something to do.
    pub(super) fn todo(&mut self, what: impl Into<String>) {
        self.todos.push(what.into());
    }

    /// Takes what is needed from what is held, as far as it goes, and says from which pieces; how grave
    /// it is to be short follows from what is needed and what is missing.
    pub(super) fn draws_as(
        &mut self,
        scene: &Scene<'_>,
        holdings: &[Holding],
        need: i64,
        unit: Unit,
        gravity: impl FnOnce(i64, i64) -> Verdict,
    ) -> Vec<Arc<Piece>> {
        let have = quantity(holdings.iter());
        self.counts_as(need, have, unit, gravity);
        let is_here = |held: &&Holding| scene.reach(&held.piece) == Reach::Here;
        self.have = quantity(holdings.iter().filter(is_here));
        let drawn = draw(holdings, need).from;
        self.picks = drawn
            .iter()
            .map(|drawn| Pick::of(drawn.piece.tag, drawn.quantity))
            .collect();
        drawn.into_iter().map(|drawn| drawn.piece).collect()
    }

    /// Asks to move what lies elsewhere in time, and watches the line for it.
    pub(super) fn ask_to_move<'a>(
        &mut self,
        scene: &Scene<'_>,
        picked: impl IntoIterator<Item = &'a Arc<Piece>>,
    ) {
        let mut elsewhere: BTreeMap<&Place, Vec<Tag>> = BTreeMap::new();
        for piece in picked {
            if piece.place != *scene.place {
                elsewhere.entry(&piece.place).or_default().push(piece.tag);
            }
        }
        for (place, tags) in elsewhere {
            let tags = list(&tags);
            self.raise(Verdict::Watch, format!("{tags} at {place}."));
            let by = local(scene, scene.bring_by);
            self.todo(format!(
                "Move {tags} from {place} to {} by {by}.",
                scene.place
            ));
        }
    }

    /// Asks to weigh or count the pieces whose level is in doubt, and watches the line for it.
    pub(super) fn ask_to_measure(&mut self, how: &str, picked: &[Arc<Piece>]) {
        let doubtful = tags_where(picked, |piece| piece.needs_count);
        if !doubtful.is_empty() {
            let tags = list(&doubtful);
            self.raise(Verdict::Watch, format!("The level of {tags} is in doubt."));
            self.todo(format!("{how} {tags}."));
        }
    }
}

/// What these hold, all together.
pub(super) fn quantity<'a>(holdings: impl Iterator<Item = &'a Holding>) -> i64 {
    holdings.fold(0, |sum, held| sum.saturating_add(held.quantity.max(0)))
}

/// Tags of the pieces of which something is so.
pub(super) fn tags_where<'a>(
    pieces: impl IntoIterator<Item = &'a Arc<Piece>>,
    is_so: impl Fn(&Piece) -> bool,
) -> Vec<Tag> {
    pieces
        .into_iter()
        .filter(|piece| is_so(piece))
        .map(|piece| piece.tag)
        .collect()
}

/// A moment as the person at the job reads it.
pub(super) fn local(scene: &Scene<'_>, moment: Moment) -> String {
    let offset = Offset::from_seconds(scene.utc_offset_s).unwrap_or(Offset::UTC);
    strtime::format("%a %-d %b %Y %H:%M", offset.to_datetime(moment)).unwrap_or_default()
}
