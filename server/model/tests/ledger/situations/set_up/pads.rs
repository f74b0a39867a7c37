//! How the situations about pads come about in the shop.

use fettlebook_model::Command;
use fettlebook_model::check::{LineKind, check_jobs};
use fettlebook_model::job::Job;
use fettlebook_model::make::Grade;
use fettlebook_model::tool::ToolKind;
use fettlebook_model::wear::Work;

use super::SetUp;
use crate::shop::{Shop, foam, id, make, pad_use, routine, saloon_job, step, tags_of, tool};

/// The finishing pads of the story.
const FINISHING: &str = "P-08 P-09 P-10 P-11 P-12";
/// Its pads for cutting.
const CUTTING: &str = "P-01 P-02 P-03 P-04 P-05 P-06 P-07";

/// Situations about pads.
pub(super) const NAMES: &[(&str, SetUp)] = &[
    ("no spare for cutting", |shop| keep(shop, |need| need)),
    ("one pad too few for cutting", |shop| {
        keep(shop, |need| need - 1);
    }),
    ("one pad too few for cutting, with a brush", |shop| {
        shop.say(Command::CreateMake {
            make: make("pad-brush", tool(ToolKind::PadBrush)),
        });
        shop.receive("pad-brush", 1);
        keep(shop, |need| need - 1);
    }),
    ("one new pad for all of the cut", |shop| keep(shop, |_| 1)),
    ("one worn pad for all of the cut", |shop| {
        shop.lose(CUTTING);
        shop.receive_as("coarse-foam-150", 1, |receipt| {
            receipt.work = Some(Work::from_micro_sections(150_000_000));
        });
    }),
    ("no pad for cutting", |shop| {
        shop.lose(CUTTING);
    }),
    ("only another make of pad for cutting", |shop| {
        shop.lose(CUTTING);
        other_foam(shop);
    }),
    ("another make beside too few", |shop| {
        keep(shop, |need| need - 1);
        other_foam(shop);
    }),
    ("finishing pads used with compound, not washed", |shop| {
        compound_on_finishing_pads(shop);
    }),
    ("finishing pads used with compound, then washed", |shop| {
        compound_on_finishing_pads(shop);
        shop.wash(FINISHING);
        shop.mark_dry(FINISHING);
    }),
    ("compound on pads kept for finishing", cut_on_fine_foam),
];

/// Loses pads for cutting until as many are left as follow from the number that the cut needs.
fn keep(shop: &mut Shop, left: impl FnOnce(usize) -> usize) {
    shop.book_saloon("thursday", "2026-03-05 08:00");
    let checks = check_jobs(&shop.book, &[id("thursday")], shop.now).unwrap();
    let cut = Some(id("cut"));
    let mut lines = checks[0].lines.iter();
    let line = lines
        .find(|line| line.kind == LineKind::Pad && line.step == cut)
        .unwrap();
    let left = left(usize::try_from(line.need).unwrap());
    let lost: Vec<&str> = CUTTING.split(' ').skip(left).collect();
    shop.lose(&lost.join(" "));
}

fn other_foam(shop: &mut Shop) {
    shop.say(Command::CreateMake {
        make: make("other-coarse-foam-150", foam(Grade::Coarse, 150)),
    });
    shop.receive("other-coarse-foam-150", 8);
}

/// Touches in with compound on every finishing pad, and lets them dry without a wash.
fn compound_on_finishing_pads(shop: &mut Shop) {
    let pads = tags_of(FINISHING);
    shop.log_loose(|loose| {
        loose.step = Some(step("touch-in", "fine-foam-150", "coarse-compound-1l"));
        loose.section_count = 5;
        loose.pads = pads.iter().map(|tag| pad_use(&tag.to_string())).collect();
    })
    .unwrap();
    shop.mark_dry(FINISHING);
}

/// The saloon cut on Thursday with finishing pads.
fn cut_on_fine_foam(shop: &mut Shop) {
    let mut cut = routine(
        "cut-on-fine-foam",
        vec![step("cut", "fine-foam-150", "coarse-compound-1l")],
    );
    cut.towel_make = Some(id("edgeless-towel-400g"));
    shop.say(Command::CreateRoutine { routine: cut });
    shop.say(Command::BookJob {
        job: Job {
            routine: id("cut-on-fine-foam"),
            ..saloon_job("thursday", "2026-03-05 08:00")
        },
    });
}
