//! The pads of a job while they are picked step by step: those that have a step, and what was found of makes and
//! pads on the way.
//!
//! Serves the pick. Steps that work with one make ask for its lives once, and steps that ask the same of like pads
//! weigh them once. It is of one job in a book as it stands: of another book nothing in it holds.

use std::collections::{BTreeMap, BTreeSet};
use std::rc::Rc;
use std::sync::Arc;

use super::Scene;
use super::asked::StepAsked;
use super::both_days::{FirstDay, Worked};
use super::step_pads::PadsAhead;
use crate::ground::ids::{Id, Tag};
use crate::maths::chance::{Precision, carry_chance_of_steps};
use crate::ready::lives::MakeLife;
use crate::trade::kit::Piece;
use crate::trade::make::PadFigures;
use crate::trade::policy::Policy;

/// The pads of a job.
#[derive(Debug, Default)]
pub struct JobPads {
    /// Those that have a step already.
    pub taken: BTreeSet<Tag>,
    /// What the first day of a job of two does.
    pub(super) first_day: FirstDay,
    lives: BTreeMap<Id, Option<Rc<MakeLife>>>,
    chances: Vec<(PadsAhead, f64)>,
}

impl JobPads {
    /// Gives a step the pads that work in it and its spares.
    pub(crate) fn take(
        &mut self,
        scene: &Scene<'_>,
        asked: &StepAsked<'_>,
        (working, spares): (&[Tag], &[Tag]),
    ) {
        self.taken.extend(working.iter().chain(spares));
        if scene.job.second_day.is_some() && !asked.plan.second_day {
            let worked = Worked::of(asked, working.len());
            for tag in working {
                self.first_day.worked(scene.book, asked, *tag, worked);
            }
            for tag in spares {
                self.first_day
                    .worked(scene.book, asked, *tag, worked.as_spare());
            }
        } else {
            for tag in working.iter().chain(spares) {
                self.first_day.works_again(*tag);
            }
        }
    }

    /// What is known of the lives of a make, by all its pads; none where its figures make no sense as lives.
    pub(super) fn life_of<'a>(
        &mut self,
        policy: &Policy,
        make: &Id,
        pads: impl Iterator<Item = &'a Arc<Piece>>,
        figures: &PadFigures,
    ) -> Option<Rc<MakeLife>> {
        if let Some(known) = self.lives.get(make) {
            return known.clone();
        }
        let life = MakeLife::of_pads(policy, pads, figures).ok().map(Rc::new);
        self.lives.insert(make.clone(), life.clone());
        life
    }

    /// The chance that enough of these last.
    pub(super) fn chance_of(&mut self, ahead: &PadsAhead, severity_log_sd: f64) -> f64 {
        if let Some((_, known)) = self.chances.iter().find(|(known, _)| known == ahead) {
            return *known;
        }
        let chance = carry_chance_of_steps(&[ahead.step()], severity_log_sd, Precision::Fine);
        self.chances.push((ahead.clone(), chance));
        chance
    }
}
