//! The machine and plate lines of a step.
//!
//! A plate rated below the machine's highest marked speed is refused, whatever else fits.

use fettlebook_quantity::Length;

use super::away::say_where;
use super::finer;
use super::line::{Line, LineKind, Pick, Verdict};
use crate::book::damage::band_of;
use crate::ground::ids::Tag;
use crate::ground::ids::list;
use crate::ready::pick::{
    PlateChoice, Reach, Scene, offer_machines, offer_plates, plates_aside, plates_away,
    plates_of_other_width,
};
use crate::ready::plan::{StepMakes, StepPlan};
use crate::trade::job::Step;
use crate::trade::kit::Piece;
use crate::trade::make::{Figures, MachineFigures, Unit};
use crate::trade::plate::{PlateFit, SpeedFit};
use crate::trade::wear::Band;

/// Is there a machine; no line for a step by hand.
pub(super) fn machine_line(scene: &Scene<'_>, planned: &StepPlan) -> Option<Line> {
    let step = &planned.step;
    let make = step.machine_make.as_ref()?;
    let name = scene.book.make(make).map_or("", |make| make.name.as_str());
    let mut line = Line::new(LineKind::Machine, Some(&step.name), name);
    line.make = Some(make.clone());
    let machines = offer_machines(scene, make);
    line.counts(1, count(machines.len()), Unit::Piece);
    line.have = count(machines.iter().filter(|one| is_here(scene, one)).count());
    if let Some(machine) = machines.first() {
        line.picks.push(Pick::of(machine.tag, 1));
        line.ask_to_move(scene, [machine]);
    } else {
        line.todo(format!(
            "Bring {name} back from aside, or borrow or buy one."
        ));
    }
    finer::say(&mut line, planned);
    Some(line)
}

/// The article before a length, as it is read aloud: an 80 mm pad, a 150 mm pad.
const fn article(length: Length) -> &'static str {
    match length.mm() {
        8 | 11 | 18 | 80..=89 => "an",
        _ => "a",
    }
}

/// Is there a plate that fits the machine, carries the pad and is rated for the speed; no line for a step
/// by hand.
pub(super) fn plate_line(scene: &Scene<'_>, step: &Step, makes: StepMakes<'_>) -> Option<Line> {
    let machine = makes.machine?;
    let (thread, max) = (&machine.thread, machine.max_speed_per_min);
    let held = if thread.is_none() {
        "without a thread".to_owned()
    } else {
        thread.to_string()
    };
    let face = makes.pad.face_mm;
    let what = format!("plate {held}, for {} {face} pad", article(face));
    let mut line = Line::new(LineKind::Plate, Some(&step.name), what);
    let plates = offer_plates(scene, machine, makes.pad.face_mm);
    let refused: Vec<&PlateChoice> = plates.iter().filter(|plate| is_refused(plate)).collect();
    let usable = plates.len().saturating_sub(refused.len());
    line.counts(1, count(usable), Unit::Piece);
    let here = plates.iter().filter(|plate| is_here(scene, &plate.piece));
    line.have = count(here.filter(|plate| !is_refused(plate)).count());
    // Another plate carries the step: the low ones are only pointed out.
    let grave = if usable == 0 {
        Verdict::Stop
    } else {
        Verdict::Watch
    };
    say_of_low_ratings(&mut line, grave, &refused);
    match plates.first().filter(|plate| !is_refused(plate)) {
        Some(best) => {
            if thread.is_none() {
                say_of_no_thread(&mut line, scene, best);
            }
            say_of_best(&mut line, scene, best, &refused);
        }
        None => {
            say_of_other_widths(&mut line, scene, machine, makes.pad.face_mm);
            say_of_aside(&mut line, scene, machine, makes.pad.face_mm);
            let away = plates_away(scene, machine, makes.pad.face_mm);
            say_where(&mut line, scene, away.iter());
            let margins = scene.policy().margin_limits();
            let face_mm = makes.pad.face_mm.mm();
            let which = if thread.is_none() {
                "without a thread that is made for this machine".to_owned()
            } else {
                format!("with thread {thread}")
            };
            line.todo(format!(
                "Fit a plate {which}, {} to {} mm wide, rated at least {max}/min; follow the marking on \
                 plate and machine.",
                face_mm.saturating_sub(margins.most_mm).max(1),
                face_mm.saturating_sub(margins.least_mm)
            ));
        }
    }
    Some(line)
}

fn is_refused(plate: &PlateChoice) -> bool {
    matches!(plate.speed, SpeedFit::Refused { .. })
}

fn is_here(scene: &Scene<'_>, piece: &Piece) -> bool {
    scene.reach(piece) == Reach::Here
}

fn count(count: usize) -> i64 {
    i64::try_from(count).unwrap_or(i64::MAX)
}

/// Names the plates that are refused for their rated speed, those with the same one together.
fn say_of_low_ratings(line: &mut Line, grave: Verdict, refused: &[&PlateChoice]) {
    let mut alike: Vec<(SpeedFit, Vec<Tag>)> = Vec::new();
    for plate in refused {
        put(&mut alike, plate.speed, plate.piece.tag);
    }
    for (speed, tags) in alike {
        if let SpeedFit::Refused { rated, max } = speed {
            let (those, are) = (list(&tags), if tags.len() > 1 { "are" } else { "is" });
            line.raise(
                grave,
                format!("{those} {are} rated {rated}/min, below the machine's {max}/min: refused."),
            );
        }
    }
}

/// Puts a tag with those of which the same is so.
fn put<T: PartialEq>(alike: &mut Vec<(T, Vec<Tag>)>, what: T, tag: Tag) {
    match alike.iter_mut().find(|(same, _)| *same == what) {
        Some((_, tags)) => tags.push(tag),
        None => alike.push((what, vec![tag])),
    }
}

/// Names the plates that are refused for their width, with both diameters, those of one width together.
fn say_of_other_widths(line: &mut Line, scene: &Scene<'_>, machine: &MachineFigures, face: Length) {
    let mut alike: Vec<((Length, PlateFit), Vec<Tag>)> = Vec::new();
    for (tag, diameter, fit) in plates_of_other_width(scene, machine, face) {
        put(&mut alike, (diameter, fit), tag);
    }
    for ((diameter, fit), tags) in alike {
        let several = tags.len() > 1;
        let why = match (fit, several) {
            (PlateFit::TooNarrow(_), false) => "its edge would reach the paint",
            (PlateFit::TooNarrow(_), true) => "their edges would reach the paint",
            (_, false) => "it does not carry the pad's edge",
            (_, true) => "they do not carry the pad's edge",
        };
        let (those, are) = (list(&tags), if several { "are" } else { "is" });
        line.raise(
            Verdict::Stop,
            format!("{those} {are} {diameter} wide and the pad {face}: refused, for {why}."),
        );
    }
}

/// Names the plates that would do if they were not set aside.
fn say_of_aside(line: &mut Line, scene: &Scene<'_>, machine: &MachineFigures, face: Length) {
    let aside = plates_aside(scene, machine, face);
    if !aside.is_empty() {
        let tags = list(&aside);
        line.raise(Verdict::Stop, format!("Set aside: {tags}."));
        line.todo(format!(
            "Look {tags} over and bring it back if it is whole."
        ));
    }
}

/// Says by how much a pad should be wider where it is not so by the usual measure.
fn say_of_margin(line: &mut Line, scene: &Scene<'_>, best: &PlateChoice) {
    let (tag, margins) = (best.piece.tag, scene.policy().margin_limits());
    match best.fit {
        PlateFit::Fits => line.raise(
            Verdict::Go,
            format!(
                "{tag} fits; a pad {} to {} mm wider is usual.",
                margins.ideal_least_mm, margins.ideal_most_mm
            ),
        ),
        PlateFit::Close(wider) => {
            line.raise(
                Verdict::Watch,
                format!(
                    "The pad is {wider} wider than {tag}: the plate's edge can reach the paint."
                ),
            );
            line.todo(format!(
                "Keep the pad flat and look at its rim after each section, or fit a plate at least {} mm \
                 narrower than the pad.",
                margins.close_mm
            ));
        }
        PlateFit::Ideal | PlateFit::TooNarrow(_) | PlateFit::TooWide(_) => {}
    }
}

/// Says that no thread tells whether the plate belongs to the machine: to be watched where the book has several
/// machines or several plates without one.
///
/// Basis: common practice, no source: a plate goes only on the machine that it is made for.
fn say_of_no_thread(line: &mut Line, scene: &Scene<'_>, best: &PlateChoice) {
    let tag = best.piece.tag;
    let (mut machines, mut plates) = (0_usize, 0_usize);
    for make in scene.book.makes() {
        match &make.figures {
            Figures::Machine(machine) if machine.thread.is_none() => {
                machines = machines.saturating_add(1);
            }
            Figures::Plate(plate) if plate.thread.is_none() => plates = plates.saturating_add(1),
            _ => {}
        }
    }
    let verdict = if machines > 1 || plates > 1 {
        Verdict::Watch
    } else {
        Verdict::Go
    };
    line.raise(
        verdict,
        format!("No thread tells whether {tag} is made for this machine."),
    );
    line.todo(format!(
        "See that {tag} is this machine's own plate, and held as its maker says."
    ));
}

fn say_of_best(line: &mut Line, scene: &Scene<'_>, best: &PlateChoice, refused: &[&PlateChoice]) {
    let tag = best.piece.tag;
    line.picks.push(Pick {
        tag,
        quantity: 1,
        spare: false,
        damage: Some(best.damage),
    });
    if best.speed == SpeedFit::Unknown {
        line.raise(
            Verdict::Watch,
            format!("The rated speed of {tag} is not known."),
        );
        line.todo(format!(
            "Read the marking on {tag} and enter it; without one, do not run it."
        ));
    }
    say_of_margin(line, scene, best);
    match band_of(scene.policy(), best.damage) {
        Band::Sound => {}
        Band::Tired => line.raise(Verdict::Watch, format!("{tag} is tired.")),
        Band::Spent => {
            line.raise(
                Verdict::Watch,
                format!("{tag} is past its rated hours or pad changes."),
            );
            line.todo(format!(
                "Look at the hook face and the thread of {tag}; replace it when in doubt."
            ));
        }
    }
    if !refused.is_empty() {
        let tags: Vec<Tag> = refused.iter().map(|plate| plate.piece.tag).collect();
        line.todo(format!("Keep {} off this machine.", list(&tags)));
    }
    line.ask_to_move(scene, [&best.piece]);
}
