//! What is said at the invented shop in a day, in short.

use fettlebook_model::command::{Counted, JobLog, LooseLog, Receipt, Said};
use fettlebook_model::job::Car;
use fettlebook_model::make::{Figures, MachineFigures, Make};
use fettlebook_model::policy::PolicyKey;
use fettlebook_model::{Command, Entry, Refusal, Seq};

use super::{Shop, id, loose, orbital, receipt, saloon_job, tag, tags_of};

impl Shop {
    /// Takes pieces of a make into the kit.
    pub(crate) fn receive(&mut self, make: &str, count: i64) {
        self.receive_as(make, count, |_| {});
    }

    /// Takes pieces of a make into the kit, with more said of them.
    pub(crate) fn receive_as(&mut self, make: &str, count: i64, more: impl FnOnce(&mut Receipt)) {
        let mut receipt = receipt(make, count);
        more(&mut receipt);
        self.say(Command::Receive(Box::new(receipt)));
    }

    /// Takes a bundle of towels into the kit that has been washed so often.
    pub(crate) fn receive_towels(&mut self, towel_count: i64, wash_count: i64) {
        self.receive_as("edgeless-towel-400g", 1, |receipt| {
            receipt.towel_count = towel_count;
            receipt.wash_count = Some(wash_count);
        });
    }

    /// Loses pieces.
    pub(crate) fn lose(&mut self, tags: &str) -> &Entry {
        self.say(Command::Bin {
            said: Said::default(),
            tags: tags_of(tags),
            reason: "lost".parse().unwrap(),
            count: None,
        })
    }

    /// Sets pieces aside for inspection.
    pub(crate) fn set_aside(&mut self, tags: &str) -> &Entry {
        self.say(Command::SetAside {
            said: Said::default(),
            tags: tags_of(tags),
            reason: "inspect".parse().unwrap(),
        })
    }

    /// Takes pieces to another place.
    pub(crate) fn move_to(&mut self, tags: &str, place: &str) -> &Entry {
        self.say(Command::Move {
            said: Said::default(),
            tags: tags_of(tags),
            place: id(place),
        })
    }

    /// Washes pieces.
    pub(crate) fn wash(&mut self, tags: &str) -> &Entry {
        self.say(Command::Wash {
            said: Said::default(),
            tags: tags_of(tags),
            inspections: Vec::new(),
        })
    }

    /// Puts batteries on the charger.
    pub(crate) fn charge(&mut self, tags: &str) -> &Entry {
        self.say(Command::Charge {
            said: Said::default(),
            tags: tags_of(tags),
        })
    }

    /// Says that pieces are dry.
    pub(crate) fn mark_dry(&mut self, tags: &str) -> &Entry {
        self.say(Command::MarkDry {
            said: Said::default(),
            tags: tags_of(tags),
        })
    }

    /// Counts or reads what is left in a sundry or bottle.
    pub(crate) fn count(&mut self, piece: &str, quantity: i64) -> &Entry {
        self.say(Command::Count {
            said: Said::default(),
            tag: tag(piece),
            count: Counted {
                quantity: Some(quantity),
                ..Counted::default()
            },
        })
    }

    /// Counts the towels of a bundle.
    pub(crate) fn count_towels(&mut self, bundle: &str, clean: i64, soiled: i64) -> &Entry {
        self.say(Command::Count {
            said: Said::default(),
            tag: tag(bundle),
            count: Counted {
                clean_count: Some(clean),
                soiled_count: Some(soiled),
                quantity: None,
            },
        })
    }

    /// Reverses an entry.
    pub(crate) fn reverse(&mut self, seq: Seq) -> Result<&Entry, Refusal> {
        self.try_say(Command::Reverse {
            said: Said::default(),
            seq,
            past: None,
        })
    }

    /// Sets a policy.
    pub(crate) fn set_policy(&mut self, key: PolicyKey, value: i64) -> &Entry {
        self.say(Command::SetPolicies {
            changes: vec![(key, Some(value))],
            note: String::new(),
        })
    }

    /// Edits the figures of the orbital.
    pub(crate) fn edit_orbital(&mut self, change: impl FnOnce(&mut MachineFigures)) {
        let was = self.book.make(&id("orbital-150")).unwrap().as_ref().clone();
        let mut figures = orbital();
        change(&mut figures);
        let make = Make {
            figures: Figures::Machine(figures),
            ..was.clone()
        };
        self.say(Command::EditMake { was, make });
    }

    /// Edits the saloon.
    pub(crate) fn edit_saloon(&mut self, change: impl FnOnce(&mut Car)) -> &Entry {
        let was = self.book.car(&id("medium-saloon-silver")).unwrap();
        let was = was.as_ref().clone();
        let mut car = was.clone();
        change(&mut car);
        self.say(Command::EditCar { was, car })
    }

    /// Books the two-step on the saloon.
    pub(crate) fn book_saloon(&mut self, job: &str, start: &str) {
        let job = saloon_job(job, start);
        self.say(Command::BookJob { job });
    }

    /// Logs a job as planned.
    pub(crate) fn log(&mut self, job: &str) -> &Entry {
        self.log_as(job, |_| {}).unwrap()
    }

    /// Logs a job with more said of it.
    pub(crate) fn log_as(
        &mut self,
        job: &str,
        more: impl FnOnce(&mut JobLog),
    ) -> Result<&Entry, Refusal> {
        let mut log = JobLog {
            job: Some(id(job)),
            ..JobLog::default()
        };
        more(&mut log);
        self.try_say(Command::LogJob(Box::new(log)))
    }

    /// Logs a use outside any job.
    pub(crate) fn log_loose(
        &mut self,
        more: impl FnOnce(&mut LooseLog),
    ) -> Result<&Entry, Refusal> {
        let mut loose = loose();
        more(&mut loose);
        self.try_say(Command::LogLoose(Box::new(loose)))
    }
}
