//! The invented shop as a book in memory: builders for makes, kit and jobs, and a way to say
//! commands and keep the entries.

mod history;
mod makes;
mod parts;
mod records;
mod says;
mod supply;

use fettlebook_model::car::CarClass;
use fettlebook_model::job::Car;
use fettlebook_model::kit::Piece;
use fettlebook_model::policy::PolicyKey;
use fettlebook_model::{Book, Command, Entry, Moment, Past, Refusal, Seq, Subject, Tag, decide};
use fettlebook_shed::{car, entry};
pub(crate) use fettlebook_shed::{id, loose, make, receipt, routine};

pub(crate) use history::{noted, pad_figures, retired};
pub(crate) use makes::{battery, foam, liquid, orbital, plate, step, tool};
use makes::{makes, two_step};
pub(crate) use parts::{done, pad_use, saloon_job, tags_of, weighing};
pub(crate) use records::{records, replayed, restored};
pub(crate) use supply::{
    came, dec, delivery_of, eur, money, offer, order_of, packs, supplier, tern_quay,
};

/// A tag in a test.
pub(crate) fn tag(text: &str) -> Tag {
    text.parse().unwrap()
}

/// A moment in a test, UTC: `at("2026-03-05 08:00")`.
pub(crate) fn at(text: &str) -> Moment {
    format!("{}:00Z", text.replace(' ', "T")).parse().unwrap()
}

/// What this shop works again of each section beside it, a good fifth: 12.2 m² over 0.2025 m² · 0.787 are
/// 76.6, so that its saloon takes 77 sections, five pads that cut and four that finish.
const BLEND_PERMILLE: i64 = 213;

/// Gannet Yard Paintwork, invented: a book, its entries and the time.
#[derive(Clone)]
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
        shop.set_policy(PolicyKey::BlendPermille, BLEND_PERMILLE);
        shop.receive("orbital-150", 1);
        shop.receive("plate-125-m8", 1);
        shop.say(Command::CreateCar {
            car: Car {
                note: "silver".into(),
                ..car("medium-saloon-silver", CarClass::MediumSaloon)
            },
        });
        shop.say(Command::CreateRoutine {
            routine: two_step(),
        });
        shop
    }

    /// The shop with the sections of a book that sets nothing itself.
    pub(crate) fn shipped(mut self) -> Self {
        self.set_policy(
            PolicyKey::BlendPermille,
            PolicyKey::BlendPermille.spec().default,
        );
        self
    }

    /// The shop with kit that carries one two-step.
    pub(crate) fn stocked() -> Self {
        let mut shop = Self::new();
        shop.receive("coarse-foam-150", 7);
        shop.receive("fine-foam-150", 5);
        shop.receive("coarse-compound-1l", 1);
        shop.receive("fine-polish-500ml", 1);
        shop.receive_towels(24, 0);
        shop.receive("nitrile-gloves", 1);
        shop
    }

    /// The stocked shop at three in the afternoon, the two-step of that morning not logged yet.
    pub(crate) fn worked() -> Self {
        let mut shop = Self::stocked();
        shop.book_saloon("thursday", "2026-03-05 08:00");
        shop.go_to("2026-03-05 15:00");
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
        let entry = entry(&self.book, decision, reporter(&command), self.now);
        // Through JSON, as the journal does: what is applied is what would be read again.
        let line = serde_json::to_string(&entry).unwrap();
        let read: Entry = serde_json::from_str(&line).unwrap();
        assert_eq!(read, entry);
        self.book.apply(&read);
        self.entries.push(read);
        Ok(self.entries.last().unwrap())
    }

    /// The past of what an entry touched, as the desk finds it.
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

    /// Sets the clock.
    pub(crate) fn go_to(&mut self, moment: &str) {
        self.now = at(moment);
    }

    /// A piece that is or was in the kit.
    pub(crate) fn piece(&self, piece: &str) -> &Piece {
        self.book.piece(tag(piece)).unwrap()
    }

    /// A pad's work, millionths of a reference section.
    pub(crate) fn work(&self, pad: &str) -> i64 {
        self.piece(pad).pad().unwrap().work.micro_sections()
    }

    /// What is left in a bottle, µL.
    pub(crate) fn left_ul(&self, bottle: &str) -> i64 {
        self.piece(bottle).bottle().unwrap().left_ul.ul()
    }

    /// Clean and soiled towels of a bundle.
    pub(crate) fn towels(&self, bundle: &str) -> (i64, i64) {
        let bundle = self.piece(bundle).bundle().unwrap();
        (bundle.clean_count, bundle.soiled_count)
    }
}

/// Who reports a command: the device that kept it, or the test.
fn reporter(command: &Command) -> &str {
    let kept = command.keepable().and_then(|said| said.kept.as_ref());
    kept.map_or("test", |kept| kept.by.as_str())
}

/// What an entry flags, in words.
pub(crate) fn flags(entry: &Entry) -> Vec<&str> {
    entry.flags.iter().map(|flag| flag.text.as_str()).collect()
}
