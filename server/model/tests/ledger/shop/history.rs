//! A shop's own history: rows of a notebook, retirements, weigh-ins, edits of what pads are rated for.

use fettlebook_model::command::{Behind, NotebookRow, Said};
use fettlebook_model::kit::Readiness;
use fettlebook_model::lives::MakeLife;
use fettlebook_model::make::{Figures, Make, PadFigures};
use fettlebook_model::wear::Work;
use fettlebook_model::{Command, Entry, Refusal};

use super::{Shop, id, tag, tags_of};

/// A pad of a notebook with so much work behind it, in millionths of a reference section, ready.
pub(crate) fn noted(pad: &str, make: &str, micro_sections: i64) -> NotebookRow {
    NotebookRow {
        line: 2,
        tag: tag(pad),
        make: id(make),
        place: id("bench"),
        behind: Behind::Work(Work::from_micro_sections(micro_sections)),
        wash_count: 0,
        readiness: Readiness::Ready,
        date: None,
        landed: None,
    }
}

/// The same pad, binned for a reason.
pub(crate) fn retired(pad: &str, make: &str, micro_sections: i64, reason: &str) -> NotebookRow {
    NotebookRow {
        readiness: Readiness::Binned(reason.parse().unwrap()),
        ..noted(pad, make, micro_sections)
    }
}

/// The pad figures of a make.
pub(crate) fn pad_figures(make: &Make) -> &PadFigures {
    match &make.figures {
        Figures::Pad(figures) => figures,
        other => panic!("{other:?}"),
    }
}

impl Shop {
    /// Takes over a notebook.
    pub(crate) fn import(&mut self, rows: Vec<NotebookRow>) -> &Entry {
        self.try_import(rows).unwrap()
    }

    /// Takes over a notebook, if it has no bad row.
    pub(crate) fn try_import(&mut self, rows: Vec<NotebookRow>) -> Result<&Entry, Refusal> {
        self.try_say(Command::ImportPads {
            note: String::new(),
            rows,
        })
    }

    /// Bins pieces for a reason.
    pub(crate) fn bin(&mut self, tags: &str, reason: &str) -> &Entry {
        self.say(Command::Bin {
            said: Said::default(),
            tags: tags_of(tags),
            reason: reason.parse().unwrap(),
            count: None,
        })
    }

    /// Edits the figures of a pad make.
    pub(crate) fn edit_pad(&mut self, make: &str, change: impl FnOnce(&mut PadFigures)) -> &Entry {
        let was = self.book.make(&id(make)).unwrap().as_ref().clone();
        let mut figures = pad_figures(&was).clone();
        change(&mut figures);
        let make = Make {
            figures: Figures::Pad(figures),
            ..was.clone()
        };
        self.say(Command::EditMake { was, make })
    }

    /// What is known and believed of the lives of a pad make.
    pub(crate) fn life(&self, make: &str) -> MakeLife {
        let make = self.book.make(&id(make)).unwrap();
        MakeLife::of(&self.book, &make.id, pad_figures(make)).unwrap()
    }
}
