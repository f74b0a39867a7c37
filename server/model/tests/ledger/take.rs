//! Taking a job: its pick is fixed and kept for it until it is logged or the pick is given back.

mod contradicted;
mod despite;
mod kept;
mod moved;
mod released;

use fettlebook_model::check::{JobCheck, LineKind, check_jobs};
use fettlebook_model::command::{JobTake, Said};
use fettlebook_model::deed::Deed;
use fettlebook_model::job::Job;
use fettlebook_model::take::Picked;
use fettlebook_model::{Command, Entry, Refusal, Tag};

use crate::shop::{Shop, flags, id, records, replayed, restored, saloon_job, tag};

/// What is said to take a job.
fn taking(job: &str) -> JobTake {
    JobTake {
        said: Said::default(),
        job: id(job),
        is_released: false,
        picked: Vec::new(),
        despite: String::new(),
    }
}

fn try_take(shop: &mut Shop, take: JobTake) -> Result<Entry, Refusal> {
    shop.try_say(Command::TakeJob(Box::new(take))).cloned()
}

fn take(shop: &mut Shop, job: &str) -> Entry {
    try_take(shop, taking(job)).unwrap()
}

fn give_back(shop: &mut Shop, job: &str) -> Result<Entry, Refusal> {
    let back = JobTake {
        is_released: true,
        ..taking(job)
    };
    try_take(shop, back)
}

/// What is taken for a job.
fn picked_for(shop: &Shop, job: &str) -> Vec<Picked> {
    let taken = shop.book.job(&id(job)).unwrap().taken.as_ref();
    taken.map_or_else(Vec::new, |take| take.picked.clone())
}

fn pads_of(picked: &[Picked]) -> Vec<Tag> {
    let tags = picked.iter().map(|one| one.tag);
    tags.filter(|tag| tag.letters() == "P").collect()
}

fn check(shop: &Shop, job: &str) -> JobCheck {
    let mut checks = check_jobs(&shop.book, &[id(job)], shop.now).unwrap();
    checks.remove(0)
}

fn pads_in(check: &JobCheck) -> Vec<Tag> {
    let pads = check.lines.iter().filter(|line| line.kind == LineKind::Pad);
    pads.flat_map(|line| &line.picks)
        .map(|pick| pick.tag)
        .collect()
}

/// What a line of this kind says.
fn reason(check: &JobCheck, kind: LineKind) -> &str {
    let line = check.lines.iter().find(|line| line.kind == kind);
    line.unwrap().reason.as_str()
}

/// Kit for two jobs, both booked: Thursday's and Friday's.
fn two_days() -> Shop {
    let mut shop = Shop::stocked();
    shop.receive("coarse-foam-150", 7);
    shop.receive("fine-foam-150", 5);
    shop.receive_towels(24, 0);
    shop.book_saloon("thursday", "2026-03-05 08:00");
    shop.book_saloon("friday", "2026-03-06 08:00");
    shop
}

fn book_at(shop: &mut Shop, job: &str, start: &str, place: &str) {
    let job = Job {
        place: id(place),
        ..saloon_job(job, start)
    };
    shop.say(Command::BookJob { job });
}

/// Everything that a log used or took along, by tag.
fn used(entry: &Entry) -> Vec<Tag> {
    let mut used: Vec<Tag> = entry
        .deeds
        .iter()
        .filter(|deed| deed.within().is_some())
        .filter_map(|deed| match deed.subject() {
            fettlebook_model::Subject::Piece(tag) => Some(tag),
            _ => None,
        })
        .collect();
    used.sort();
    used.dedup();
    used
}

#[test]
fn the_pick_that_is_taken_is_the_one_the_check_showed() {
    let mut shop = two_days();
    let shown = check(&shop, "thursday");
    let entry = take(&mut shop, "thursday");
    let taken = picked_for(&shop, "thursday");
    let of_lines: Vec<Tag> = shown
        .lines
        .iter()
        .flat_map(|line| &line.picks)
        .map(|pick| pick.tag)
        .collect();
    let tags: Vec<Tag> = taken.iter().map(|one| one.tag).collect();
    assert_eq!(tags, of_lines);
    assert!(tags.contains(&tag("M-01")) && tags.contains(&tag("B-01")));
    assert!(matches!(
        &entry.deeds[..],
        [Deed::JobTaken { despite: None, .. }]
    ));
    assert_eq!(flags(&entry), [""; 0]);
}

#[test]
fn other_jobs_leave_alone_what_was_taken() {
    let mut shop = two_days();
    assert_eq!(
        pads_in(&check(&shop, "thursday")),
        pads_in(&check(&shop, "friday")),
        "each alone would take the same pads"
    );
    take(&mut shop, "thursday");
    let mine = pads_of(&picked_for(&shop, "thursday"));
    let friday = check(&shop, "friday");
    let theirs = pads_in(&friday);
    assert_eq!(theirs.len(), mine.len());
    assert!(theirs.iter().all(|pad| !mine.contains(pad)), "{theirs:?}");
    let takers = |pad: Tag| -> Vec<String> {
        let takers = shop.book.takers(pad);
        takers.map(|job| job.id.to_string()).collect()
    };
    assert_eq!(takers(mine[0]), ["thursday"]);
    assert_eq!(takers(theirs[0]), [""; 0]);
}

#[test]
fn what_another_job_has_taken_is_named_where_it_is_missed() {
    let mut shop = Shop::stocked();
    shop.book_saloon("thursday", "2026-03-05 08:00");
    shop.book_saloon("friday", "2026-03-06 08:00");
    take(&mut shop, "thursday");
    let friday = check(&shop, "friday");
    let why = reason(&friday, LineKind::Pad);
    assert!(why.contains("Taken for thursday: P-01"), "{why}");
    // Run in time order, Thursday's job has given them back by then.
    let both = check_jobs(&shop.book, &[id("thursday"), id("friday")], shop.now).unwrap();
    let why = reason(&both[1], LineKind::Pad);
    assert!(!why.contains("Taken for"), "{why}");
}

/// A bottle carries several jobs: what one has taken of it is not there for the next.
#[test]
fn of_what_is_drawn_on_as_much_as_was_taken_is_left_to_its_job() {
    let mut shop = two_days();
    let liquid = |shop: &Shop| {
        let check = check(shop, "friday");
        let mut lines = check.lines.into_iter();
        lines.find(|line| line.kind == LineKind::Liquid).unwrap()
    };
    let before = liquid(&shop);
    take(&mut shop, "thursday");
    let taken = picked_for(&shop, "thursday");
    let of_bottle = taken.iter().find(|one| one.tag == tag("B-01")).unwrap();
    let after = liquid(&shop);
    assert_eq!(before.have - after.have, of_bottle.quantity);
    assert_eq!(after.picks[0].tag, tag("B-01"));
}

/// One machine goes to two jobs a day apart, and not to two places on one day.
#[test]
fn a_machine_goes_to_the_next_day_and_not_to_two_places_on_one() {
    let mut shop = two_days();
    book_at(&mut shop, "away", "2026-03-05 13:00", "van-a");
    take(&mut shop, "thursday");
    let machine = |shop: &Shop, job: &str| {
        let check = check(shop, job);
        let mut lines = check.lines.into_iter();
        lines.find(|line| line.kind == LineKind::Machine).unwrap()
    };
    assert_eq!(machine(&shop, "friday").picks[0].tag, tag("M-01"));
    let away = machine(&shop, "away");
    assert_eq!(
        (away.short, away.reason.contains("Taken for thursday: M-01")),
        (1, true)
    );
    shop.receive("orbital-150", 1);
    assert_eq!(machine(&shop, "away").picks[0].tag, tag("M-02"));
    assert_eq!(
        machine(&shop, "friday").picks[0].tag,
        tag("M-02"),
        "one that is not taken first"
    );
}

#[test]
fn the_check_of_a_job_that_was_taken_is_of_what_was_taken() {
    let mut shop = two_days();
    take(&mut shop, "thursday");
    let cut = |shop: &Shop| {
        let check = check(shop, "thursday");
        let mut lines = check.lines.into_iter();
        lines.find(|line| line.kind == LineKind::Pad).unwrap()
    };
    let mine = pads_in(&check(&shop, "thursday"));
    // Fresher pads come in, and so many of those taken are lost that one is missing.
    shop.receive("coarse-foam-150", 9);
    assert_eq!(pads_in(&check(&shop, "thursday")), mine);
    let before = cut(&shop);
    let need = usize::try_from(before.need).unwrap();
    let tags = before.picks.iter().map(|pick| pick.tag.to_string());
    let gone: Vec<String> = tags.take(before.picks.len() + 1 - need).collect();
    shop.lose(&gone.join(" "));
    let line = cut(&shop);
    assert_eq!(line.short, 1);
    let why = format!("Binned since it was taken: {}", gone[0]);
    assert!(line.reason.contains(&why), "{}", line.reason);
    let anew = "Or take the job anew";
    assert!(
        line.todos.iter().any(|todo| todo.starts_with(anew)),
        "{:?}",
        line.todos
    );
    take(&mut shop, "thursday");
    let pads = pads_of(&picked_for(&shop, "thursday"));
    assert!(
        !pads.iter().any(|pad| gone.contains(&pad.to_string())),
        "{pads:?}"
    );
    assert_eq!(cut(&shop).short, 0);
}

#[test]
fn a_log_starts_from_what_was_taken() {
    let mut shop = two_days();
    take(&mut shop, "thursday");
    let taken = picked_for(&shop, "thursday");
    // Without the take, the log would leave out a pad that was soiled by then.
    shop.go_to("2026-03-05 15:00");
    let soiled = pads_of(&taken)[0];
    let loose = shop.log_loose(|loose| {
        loose.said = crate::shop::done("2026-03-05 07:00");
        loose.step = Some(crate::shop::step(
            "spot",
            "coarse-foam-150",
            "coarse-compound-1l",
        ));
        loose.section_count = 2;
        loose.pads = vec![crate::shop::pad_use(&soiled.to_string())];
    });
    loose.unwrap();
    let log = shop.log("thursday").clone();
    let mut tags: Vec<Tag> = taken.iter().map(|one| one.tag).collect();
    tags.sort();
    tags.dedup();
    assert_eq!(used(&log), tags);
    let said = flags(&log).join("\n");
    assert!(
        said.contains(&format!("{soiled} was soiled in the book")),
        "{said}"
    );
    assert!(
        shop.book.takers(soiled).next().is_none(),
        "a job that is done keeps nothing"
    );
}

#[test]
fn panels_left_out_of_the_log_take_less_of_what_was_taken() {
    let mut shop = two_days();
    take(&mut shop, "thursday");
    shop.go_to("2026-03-05 15:00");
    let taken = picked_for(&shop, "thursday");
    let log = shop.log_as("thursday", |log| {
        log.left_out = ["roof", "boot", "bonnet"]
            .map(|panel| panel.parse().unwrap())
            .to_vec();
    });
    let log = log.unwrap().clone();
    let poured = log.deeds.iter().find_map(|deed| match deed {
        Deed::LiquidUsed { tag, volume_ul, .. } => Some((*tag, volume_ul.ul())),
        _ => None,
    });
    let (bottle, poured) = poured.unwrap();
    let planned = taken.iter().find(|one| one.tag == bottle).unwrap().quantity;
    assert!(poured < planned * 9 / 10, "{poured} of {planned}");
}

#[test]
fn a_job_that_is_not_booked_is_not_taken_nor_an_unknown_piece() {
    let mut shop = two_days();
    let refused = try_take(&mut shop, taking("never")).unwrap_err();
    assert_eq!(refused.field, "job");
    let stray = JobTake {
        picked: vec![Picked {
            tag: tag("P-99"),
            step: None,
            quantity: 1,
            spare: false,
        }],
        ..taking("thursday")
    };
    let refused = try_take(&mut shop, stray).unwrap_err();
    assert_eq!(refused.field, "picked.tag");
    shop.go_to("2026-03-05 15:00");
    shop.log("thursday");
    let refused = try_take(&mut shop, taking("thursday")).unwrap_err();
    assert_eq!(refused.reason, fettlebook_model::Reason::JobState);
}

/// Two jobs with one pad: both takes stand, the later one says so, and so do both checks.
#[test]
fn one_pad_taken_for_two_jobs_stands_in_both_and_is_told() {
    let mut shop = two_days();
    let first = take(&mut shop, "thursday");
    let same = JobTake {
        picked: picked_for(&shop, "thursday"),
        ..taking("friday")
    };
    let second = try_take(&mut shop, same).unwrap();
    let said = flags(&second).join("\n");
    let told = format!("P-01 is taken for thursday too, in entry {}", first.seq);
    assert!(said.contains(&told), "{said}");
    assert!(
        !said.contains("M-01 is taken"),
        "a machine goes to both: {said}"
    );
    for (job, other) in [("thursday", "friday"), ("friday", "thursday")] {
        let check = check(&shop, job);
        let why = reason(&check, LineKind::Pad);
        assert!(
            why.contains(&format!("P-01 is taken for {other} too.")),
            "{why}"
        );
    }
    assert_eq!(shop.book.takers(tag("P-01")).count(), 2);
}

#[test]
fn a_book_with_takes_is_the_same_replayed_and_restored_and_without_its_last_entry() {
    let mut shop = two_days();
    let before = records(&shop.book);
    let entry = take(&mut shop, "thursday");
    assert_eq!(replayed(&shop.entries), shop.book);
    assert_eq!(restored(&shop.book), shop.book);
    shop.reverse(entry.seq).unwrap();
    let job = |records: &[(fettlebook_model::Subject, fettlebook_model::Record)]| {
        records
            .iter()
            .filter(|(subject, _)| subject.word() == "thursday")
            .count()
    };
    assert_eq!(job(&before), 1);
    assert_eq!(picked_for(&shop, "thursday"), []);
    assert!(shop.book.takers(tag("P-01")).next().is_none());
    assert_eq!(replayed(&shop.entries), shop.book);
}

#[test]
fn a_take_without_a_log_is_told_from_two_days_after_the_start() {
    let mut shop = two_days();
    take(&mut shop, "thursday");
    let told = |shop: &Shop, moment: &str| {
        let job = shop.book.job(&id("thursday")).unwrap();
        job.is_left_unlogged(crate::shop::at(moment))
    };
    assert!(!told(&shop, "2026-03-07 07:59"));
    assert!(told(&shop, "2026-03-07 08:00"));
    // Whoever misses what it keeps is told, too.
    shop.lose("P-13 P-14 P-15 P-16 P-17 P-18 P-19");
    shop.book_saloon("monday", "2026-03-09 08:00");
    shop.go_to("2026-03-08 08:00");
    let monday = check(&shop, "monday");
    let todos: Vec<&String> = monday.lines.iter().flat_map(|line| &line.todos).collect();
    let told = "thursday started on Thu 5 Mar 2026 08:00 and is not logged";
    assert!(todos.iter().any(|todo| todo.starts_with(told)), "{todos:?}");
}
