//! The conversation with answers from a list: what is asked, and what comes of it.

use std::collections::VecDeque;

use fettlebook_contract::v1::make::Figures;
use fettlebook_contract::v1::{
    CarClass, LiquidFigures, MachineFigures, Make, Money, PadFigures, Routine, StarterKit,
    StarterMake, TowelFigures,
};

use super::super::asker::{Asker, Line, Reply};
use super::{Known, Talk};
use crate::fault::Fault;

/// What is said to each question in turn: a line, or the words of one of the answers.
struct Listed {
    said: VecDeque<Reply<&'static str>>,
    asked: Vec<String>,
}

impl Listed {
    fn new(said: &[&'static str]) -> Self {
        let said = said.iter().map(|word| match *word {
            "<back" => Reply::Back,
            "<leave" => Reply::Left,
            word => Reply::Said(word),
        });
        Self {
            said: said.collect(),
            asked: Vec::new(),
        }
    }

    fn next(&mut self, question: &str) -> Reply<&'static str> {
        self.asked.push(question.to_owned());
        self.said.pop_front().unwrap_or(Reply::Left)
    }
}

impl Asker for Listed {
    fn line(&mut self, line: &Line<'_>) -> Result<Reply<String>, Fault> {
        let question = format!("{} ({})", line.question, line.usual);
        Ok(self.next(&question).turned(|said| {
            let said = if said.is_empty() {
                line.usual.clone()
            } else {
                said.to_owned()
            };
            assert_eq!((line.wrong)(&said), None, "{question}");
            said
        }))
    }

    fn which(
        &mut self,
        question: &str,
        answers: &[String],
        usual: usize,
    ) -> Result<Reply<usize>, Fault> {
        Ok(self.next(question).turned(|said| {
            let found = answers.iter().position(|answer| answer.contains(said));
            if said.is_empty() {
                usual
            } else {
                found.unwrap()
            }
        }))
    }
}

fn make(id: &str, figures: Figures, usual: i64, held: i64) -> StarterMake {
    StarterMake {
        make: Some(Make {
            make: id.to_owned(),
            name: id.replace('-', " "),
            figures: Some(figures),
            ..Make::default()
        }),
        usual_count: usual,
        held_count: held,
        bases: Vec::new(),
    }
}

fn kits() -> Vec<StarterKit> {
    let routine = |id: &str| Routine {
        routine: id.to_owned(),
        name: id.to_owned(),
        ..Routine::default()
    };
    let kit = |word: &str, coarse| StarterKit {
        starter_kit: word.to_owned(),
        name: word.replace('-', " "),
        makes: vec![
            make(
                "orbital-150",
                Figures::Machine(MachineFigures::default()),
                1,
                0,
            ),
            make(
                "coarse-foam-150",
                Figures::Pad(PadFigures::default()),
                coarse,
                0,
            ),
            make("fine-foam-150", Figures::Pad(PadFigures::default()), 6, 4),
            make(
                "fine-polish-500ml",
                Figures::Liquid(LiquidFigures::default()),
                1,
                0,
            ),
            make(
                "edgeless-towel-400g",
                Figures::Towel(TowelFigures::default()),
                24,
                0,
            ),
        ],
        routines: vec![routine("two-step"), routine("one-step")],
        ..StarterKit::default()
    };
    vec![kit("big", 5), kit("big-small", 7)]
}

fn talk(kits: &[StarterKit], kit: Option<usize>) -> Talk<'_> {
    Talk::new(Known {
        kits,
        kit,
        place: None,
        currency: Some("EUR"),
        now: "2026-11-26T10:00:00+00:00[UTC]".parse().unwrap(),
    })
}

#[test]
fn enter_alone_sets_up_what_is_usual_and_not_there_yet() {
    let kits = kits();
    let mut talk = talk(&kits, None);
    let mut asker = Listed::new(&["", "", "", "", "", "", "no car"]);
    let mut at = 0;
    assert!(!talk.hold(&mut asker, &mut at).unwrap());
    assert_eq!(
        asker.asked,
        [
            "Which machines do you work with?",
            "coarse foam 150: how many? (5)",
            "fine foam 150: how many? Beside the 4 in the book. (2)",
            "fine polish 500ml: how full? (full)",
            "edgeless towel 400g: how many? (24)",
            "What things cost: later or now?",
            "The first car?",
        ]
    );
    let request = talk.request().unwrap();
    let counts: Vec<_> = request
        .pieces
        .iter()
        .map(|piece| (piece.make.as_str(), piece.piece_count, piece.towel_count))
        .collect();
    assert_eq!(
        counts,
        [
            ("orbital-150", 1, 0),
            ("coarse-foam-150", 5, 0),
            ("fine-foam-150", 2, 0),
            ("fine-polish-500ml", 1, 0),
            ("edgeless-towel-400g", 0, 24),
        ]
    );
    assert_eq!((request.car, request.job), (None, None));
}

#[test]
fn each_answer_can_be_taken_back_a_step_and_comes_up_as_it_was() {
    let kits = kits();
    let mut talk = talk(&kits, Some(1));
    let answers = [
        "5 2x8", "3", "<back", "<back", "4 1x8", "", "431 g", "none", "", "saloon",
    ];
    let rest = ["silver", "thu 08:00", "one-step"];
    let mut asker = Listed::new(&[&answers[..], &rest].concat());
    let mut at = 0;
    assert!(!talk.hold(&mut asker, &mut at).unwrap());
    assert_eq!(
        asker.asked[2..6],
        [
            "fine polish 500ml: how full? (full)",
            "fine foam 150: how many? Beside the 4 in the book. (3)",
            "coarse foam 150: how many? (5 2x8)",
            "fine foam 150: how many? Beside the 4 in the book. (3)",
        ]
    );
    let request = talk.request().unwrap();
    let pads: Vec<_> = request
        .pieces
        .iter()
        .filter(|piece| piece.make.contains("foam"))
        .map(|piece| (piece.piece_count, piece.job_count))
        .collect();
    assert_eq!(pads, [(3, None), (1, Some(8)), (3, None)]);
    assert!(
        request
            .pieces
            .iter()
            .any(|piece| piece.gross_mg == Some(431_000))
    );
    assert!(request.pieces.iter().all(|piece| piece.towel_count == 0));
    let (car, job) = (request.car.unwrap(), request.job.unwrap());
    assert_eq!(car.class(), CarClass::MediumSaloon);
    assert_eq!(
        (car.car.as_str(), car.note.as_str()),
        ("medium-saloon-silver", "silver")
    );
    assert_eq!(
        (job.job.as_str(), job.routine.as_str()),
        ("medium-saloon-thursday", "one-step")
    );
}

#[test]
fn prices_are_asked_only_of_who_tells_them_now() {
    let kits = kits();
    let mut talk = talk(&kits, Some(0));
    let answers = [
        "",
        "",
        "",
        "",
        "now",
        "289",
        "18,90 for 2",
        "",
        "27 EUR",
        "",
        "no car",
    ];
    let mut asker = Listed::new(&answers);
    let mut at = 0;
    assert!(!talk.hold(&mut asker, &mut at).unwrap());
    let request = talk.request().unwrap();
    let prices: Vec<_> = request
        .prices
        .iter()
        .map(|one| {
            let price = one.price.as_ref().unwrap();
            format!(
                "{} {} {} {:?}",
                one.make, price.amount, price.currency_code, one.pack_count
            )
        })
        .collect();
    assert_eq!(
        prices,
        [
            "orbital-150 289 EUR None",
            "coarse-foam-150 18.90 EUR Some(2)",
            "fine-polish-500ml 27 EUR None",
        ]
    );
}

/// Of what has its price in the kit nobody is asked, and whoever puts prices off has told none.
#[test]
fn what_has_a_price_is_not_asked_and_prices_put_off_are_not_told() {
    let mut kits = kits();
    for one in &mut kits[0].makes[..4] {
        one.make.as_mut().unwrap().price = Some(Money::default());
    }
    let mut talk = talk(&kits, Some(0));
    let answers = [
        "", "", "", "", "now", "32 EUR", "<back", "<back", "later", "no car",
    ];
    let mut asker = Listed::new(&answers);
    assert!(!talk.hold(&mut asker, &mut 0).unwrap());
    let asked = |word: &str| {
        asker
            .asked
            .iter()
            .filter(|asked| asked.contains(word))
            .count()
    };
    assert_eq!(
        (asked("orbital"), asked("cost as it is sold")),
        (0, 2),
        "{:?}",
        asker.asked
    );
    assert_eq!(talk.request().unwrap().prices, []);
}

/// Enter all along: a saloon of middle size, tomorrow, by the kit's first routine.
#[test]
fn enter_alone_books_the_usual_car() {
    let kits = kits();
    let mut talk = talk(&kits, None);
    let mut asker = Listed::new(&[""; 10]);
    assert!(!talk.hold(&mut asker, &mut 0).unwrap());
    let request = talk.request().unwrap();
    let (car, job) = (request.car.unwrap(), request.job.unwrap());
    assert_eq!(car.class(), CarClass::MediumSaloon);
    assert_eq!(
        (job.job.as_str(), job.routine.as_str()),
        ("medium-saloon-friday", "two-step")
    );
}

/// What is wrong is told before anything goes on: a start that is past, and one that is none.
#[test]
fn a_start_that_is_past_or_none_is_told_at_once() {
    struct Typing(Vec<&'static str>, Vec<Option<String>>);
    impl Asker for Typing {
        fn line(&mut self, line: &Line<'_>) -> Result<Reply<String>, Fault> {
            if line.question == "When does it come?" {
                self.1 = self.0.iter().map(|said| (line.wrong)(said)).collect();
            }
            Ok(Reply::Said(line.usual.clone()))
        }

        fn which(&mut self, _: &str, _: &[String], usual: usize) -> Result<Reply<usize>, Fault> {
            Ok(Reply::Said(usual))
        }
    }
    let kits = kits();
    let mut asker = Typing(vec!["2026-11-25 08:00", "soonish", "now"], Vec::new());
    assert!(!talk(&kits, None).hold(&mut asker, &mut 0).unwrap());
    let [past, none, now] = &asker.1[..] else {
        panic!("{:?}", asker.1)
    };
    assert!(past.as_ref().unwrap().contains("is past"), "{past:?}");
    assert!(none.as_ref().unwrap().contains("soonish"), "{none:?}");
    assert_eq!(*now, None);
}

#[test]
fn it_can_be_left_at_every_question() {
    let kits = kits();
    for questions in 0..10 {
        let mut talk = talk(&kits, None);
        let mut answers = vec![""; questions];
        answers.push("<leave");
        let mut at = 0;
        assert!(
            talk.hold(&mut Listed::new(&answers), &mut at).unwrap(),
            "{questions}"
        );
    }
}
