//! The invented shop as a book in memory: builders for makes, kit and jobs, and a way to say
//! commands and keep the entries.

use fettlebook_model::command::{JobLog, Receipt, Said};
use fettlebook_model::job::{Car, Job, JobState, Routine, Step, SundryNeed};
use fettlebook_model::make::{
    Figures, Grade, LiquidFigures, MachineFigures, Make, PadFigures, PadMaterial, PlateFigures,
    SundryFigures, TowelFigures, Unit,
};
use fettlebook_model::wear::{Action, Press};
use fettlebook_model::{
    BodyHash, Book, Command, Entry, Id, Moment, Past, Refusal, Seq, Subject, Tag, decide,
};
use fettlebook_quantity::{Length, Mass, Volume};

/// An id in a test.
pub(crate) fn id(text: &str) -> Id {
    text.parse().unwrap()
}

/// A tag in a test.
pub(crate) fn tag(text: &str) -> Tag {
    text.parse().unwrap()
}

/// A moment in a test, UTC: `at("2026-03-05 08:00")`.
pub(crate) fn at(text: &str) -> Moment {
    format!("{}:00Z", text.replace(' ', "T")).parse().unwrap()
}

/// Gannet Yard Paintwork, invented: a book, its entries and the time.
pub(crate) struct Shop {
    pub(crate) book: Book,
    pub(crate) entries: Vec<Entry>,
    pub(crate) now: Moment,
}

impl Shop {
    /// An empty book on the afternoon before.
    pub(crate) fn empty() -> Self {
        Self {
            book: Book::new(),
            entries: Vec::new(),
            now: at("2026-03-04 16:00"),
        }
    }

    /// The shop with makes, machine, plates, a routine and a medium saloon; no pads, liquids or
    /// towels yet.
    pub(crate) fn new() -> Self {
        let mut shop = Self::empty();
        for make in makes() {
            shop.say(Command::CreateMake { make });
        }
        shop.receive("orbital-150", 1);
        shop.receive("plate-125-m8", 1);
        shop.say(Command::CreateCar {
            car: Car {
                id: id("medium-saloon-silver"),
                class: "medium-saloon".parse().unwrap(),
                note: "silver".into(),
                dimensions: None,
                panels: Vec::new(),
            },
        });
        shop.say(Command::CreateRoutine {
            routine: two_step(),
        });
        shop
    }

    /// The shop with kit that carries one two-step.
    pub(crate) fn stocked() -> Self {
        let mut shop = Self::new();
        shop.receive("coarse-foam-150", 7);
        shop.receive("fine-foam-150", 5);
        shop.receive("coarse-compound-1l", 1);
        shop.receive("fine-polish-500ml", 1);
        shop.say(Command::Receive(Box::new(Receipt {
            towel_count: 24,
            ..receipt("edgeless-towel-400g", 1)
        })));
        shop.receive("nitrile-gloves", 1);
        shop
    }

    /// Says a command that must be taken.
    pub(crate) fn say(&mut self, command: Command) -> &Entry {
        self.try_say(command).unwrap()
    }

    /// Says a command.
    pub(crate) fn try_say(&mut self, command: Command) -> Result<&Entry, Refusal> {
        let command = match command.reverses() {
            Some(seq) => match self.past(seq) {
                Some(past) => command.with_past(past),
                None => command,
            },
            None => command,
        };
        let decision = decide(&self.book, &command, self.now)?;
        let entry = Entry {
            seq: self.book.head().next(),
            recorded_at: self.now,
            done_at: decision.done_at,
            request: uuid::Uuid::nil(),
            body: BodyHash([0; 16]),
            by: "test".into(),
            deeds: decision.deeds,
            flags: decision.flags,
            note: decision.note,
        };
        // Through JSON, as the journal does: what is applied is what would be read again.
        let line = serde_json::to_string(&entry).unwrap();
        let read: Entry = serde_json::from_str(&line).unwrap();
        assert_eq!(read, entry);
        self.book.apply(&read);
        self.entries.push(read);
        Ok(self.entries.last().unwrap())
    }

    fn past(&self, seq: Seq) -> Option<Past> {
        let target = self.entries.iter().find(|entry| entry.seq == seq)?.clone();
        let touched: Vec<Subject> = target.deeds.iter().map(|deed| deed.subject()).collect();
        let entries = self
            .entries
            .iter()
            .filter(|entry| {
                entry
                    .deeds
                    .iter()
                    .any(|deed| touched.contains(&deed.subject()))
            })
            .cloned()
            .collect();
        Some(Past { target, entries })
    }

    /// Takes pieces of a make into the kit.
    pub(crate) fn receive(&mut self, make: &str, count: i64) {
        self.say(Command::Receive(Box::new(receipt(make, count))));
    }

    /// Books the two-step on the saloon.
    pub(crate) fn book_saloon(&mut self, job: &str, start: &str) {
        let job = saloon_job(job, start);
        self.say(Command::BookJob { job });
    }

    /// Logs a job as planned.
    pub(crate) fn log(&mut self, job: &str) -> &Entry {
        self.say(Command::LogJob(Box::new(JobLog {
            job: Some(id(job)),
            ..JobLog::default()
        })))
    }

    /// Sets the clock.
    pub(crate) fn go_to(&mut self, moment: &str) {
        self.now = at(moment);
    }

    /// A pad's work, millionths of a reference section.
    pub(crate) fn work(&self, pad: &str) -> i64 {
        self.book
            .piece(tag(pad))
            .unwrap()
            .pad()
            .unwrap()
            .work
            .micro_sections()
    }

    /// What is left in a bottle, µL.
    pub(crate) fn left_ul(&self, bottle: &str) -> i64 {
        self.book
            .piece(tag(bottle))
            .unwrap()
            .bottle()
            .unwrap()
            .left_ul
            .ul()
    }
}

/// Done at a moment.
pub(crate) fn done(moment: &str) -> Said {
    Said {
        done_at: Some(at(moment)),
        note: String::new(),
    }
}

/// A receipt of whole pieces on the bench.
pub(crate) fn receipt(make: &str, count: i64) -> Receipt {
    Receipt {
        said: Said::default(),
        make: id(make),
        place: id("bench"),
        piece_count: count,
        tags: Vec::new(),
        towel_count: 0,
        lot: String::new(),
        expiry: None,
        volume_ul: None,
        tare_mg: None,
        quantity: None,
        towel_grade: None,
        work: None,
        wash_count: None,
    }
}

/// The job of the story.
pub(crate) fn saloon_job(job: &str, start: &str) -> Job {
    Job {
        id: id(job),
        car: id("medium-saloon-silver"),
        routine: id("two-step"),
        place: id("bench"),
        starts_at: at(start),
        utc_offset_s: 0,
        left_out: Vec::new(),
        state: JobState::Booked,
        note: String::new(),
        last_seq: Seq::default(),
    }
}

/// A make with these figures.
pub(crate) fn make(key: &str, figures: Figures) -> Make {
    Make {
        id: id(key),
        name: key.replace('-', " "),
        price: None,
        pack_count: 1,
        ghs: Vec::new(),
        note: String::new(),
        figures,
    }
}

/// A foam pad of this grade and face.
pub(crate) fn foam(grade: Grade, face_mm: i64) -> Figures {
    Figures::Pad(PadFigures {
        material: PadMaterial::ThinFoam,
        grade,
        face_mm: Length::from_mm(face_mm),
        rated_work_sections: None,
        rated_wash_count: None,
        load_sections: None,
        dry_time_s: None,
    })
}

/// A plate with an M8 thread.
pub(crate) fn plate(diameter_mm: i64, rated: Option<i64>) -> Figures {
    Figures::Plate(PlateFigures {
        diameter_mm: Length::from_mm(diameter_mm),
        thread: "M8".parse().unwrap(),
        rated_speed_per_min: rated,
        rated_run_h: None,
        rated_change_count: None,
    })
}

fn liquid(grade: Grade, bottle_ml: i64) -> Figures {
    Figures::Liquid(LiquidFigures {
        grade,
        bottle_ul: Volume::from_ul(bottle_ml * 1000),
        density_mg_per_ml: None,
        tare_mg: Some(Mass::from_mg(60_000)),
        prime_dot_count: None,
        refresh_dot_count: None,
    })
}

/// The machine of the story: 15 mm throw, marked 5000/min, worked at 4500/min.
pub(crate) fn orbital() -> MachineFigures {
    MachineFigures {
        action: Action::Orbital,
        throw_mm: Length::from_mm(15),
        thread: "M8".parse().unwrap(),
        max_speed_per_min: 5000,
        work_speed_per_min: Some(4500),
        vibration_mm_per_s2: Some(2000),
        vibration_measured: true,
        noise_db: Some(74),
        spot: false,
    }
}

fn makes() -> Vec<Make> {
    vec![
        make("orbital-150", Figures::Machine(orbital())),
        make("plate-125-m8", plate(135, Some(12_000))),
        make("coarse-foam-150", foam(Grade::Coarse, 150)),
        make("fine-foam-150", foam(Grade::Fine, 150)),
        make("coarse-compound-1l", liquid(Grade::Coarse, 1000)),
        make("fine-polish-500ml", liquid(Grade::Fine, 500)),
        make(
            "edgeless-towel-400g",
            Figures::Towel(TowelFigures {
                weight_g_per_m2: 400,
                inspect_wash_count: None,
                demote_wash_count: None,
                dry_time_s: None,
            }),
        ),
        make(
            "nitrile-gloves",
            Figures::Sundry(SundryFigures {
                unit: Unit::Pair,
                pack_quantity: 50,
            }),
        ),
    ]
}

/// A step of the two-step.
pub(crate) fn step(name: &str, pad: &str, liquid: &str) -> Step {
    Step {
        name: id(name),
        machine_make: id("orbital-150"),
        pad_make: id(pad),
        liquid_make: id(liquid),
        side_mm: None,
        overlap_permille: None,
        pass_count: None,
        arm_speed_mm_per_s: None,
        press: Press::Moderate,
        speed_per_min: None,
        panels: Vec::new(),
    }
}

fn two_step() -> Routine {
    Routine {
        id: id("two-step"),
        name: "two-step".into(),
        steps: vec![
            step("cut", "coarse-foam-150", "coarse-compound-1l"),
            step("finish", "fine-foam-150", "fine-polish-500ml"),
        ],
        towel_make: Some(id("edgeless-towel-400g")),
        cells_per_section: None,
        sundries: vec![SundryNeed {
            make: id("nitrile-gloves"),
            per_job_quantity: 2,
            per_m2_quantity: 0,
        }],
    }
}
