//! What was other than planned, asked at a terminal: a letter for each sort of thing, then one line each.
//!
//! Nothing is recorded by answering: the answers go into the request, which is looked at again and shown.

use fettlebook_contract::v1::{
    BundleUse, DeedKind, Entry, LogUseRequest, MachineTime, PadUse, Swap, Weighing,
};

use crate::ask::{ask_line, ask_which};
use crate::exit::Exit;
use crate::fault::Fault;
use crate::figures::minutes::{Minutes, all_minutes};
use crate::options;
use crate::render::Printer;

/// What can be other than planned: the letter, and what it stands for, on one line with it.
const SORTS: &str = "p\u{a0}pads, o\u{a0}other\u{a0}pads, w\u{a0}weights, t\u{a0}towels, x\u{a0}panels, m\u{a0}minutes";
/// Why a pad failed, the commonest first.
const REASONS: [&str; 9] = [
    "torn", "peeling", "cupped", "glazed", "matted", "worn", "dropped", "inspect", "other",
];

pub(super) fn left() -> Fault {
    Fault::own(
        "NOT_MEANT",
        Exit::No,
        "Nothing was recorded.",
        "Say it again when you are ready.",
    )
}

/// Asks what was other than what is understood. False where nothing was: Enter records it.
///
/// # Errors
/// When it is left, or the terminal fails.
pub(super) fn ask(
    request: &mut LogUseRequest,
    understood: &Entry,
    printer: &mut Printer,
) -> Result<bool, Fault> {
    printer.flush();
    let question = format!("Enter records it; what was other? ({SORTS})");
    let letters = ask_line(&question, |text| letters(text).map(|_| ()))?.ok_or_else(left)?;
    let letters = letters_of(&letters);
    for letter in &letters {
        match letter {
            'p' => pads(request, understood)?,
            'o' => other_pads(request, understood)?,
            'w' => weights(request, understood)?,
            't' => towels(request, understood)?,
            'm' => minutes(request, understood)?,
            _ => panels(request)?,
        }
    }
    Ok(!letters.is_empty())
}

fn letters(text: &str) -> Result<Vec<char>, String> {
    let typed = text.chars().filter(|c| !c.is_whitespace() && *c != ',');
    let typed: Vec<char> = typed.map(|c| c.to_ascii_lowercase()).collect();
    match typed.iter().find(|c| !"powtxm".contains(**c)) {
        Some(other) => Err(format!("'{other}' is none of the letters: {SORTS}")),
        None => Ok(typed),
    }
}

fn letters_of(text: &str) -> Vec<char> {
    letters(text).unwrap_or_default()
}

/// Asks until an answer is left empty or understood, and puts it in.
fn pads(request: &mut LogUseRequest, understood: &Entry) -> Result<(), Fault> {
    let pads = subjects(understood, DeedKind::PadUsed);
    let question = format!("Which pads failed? ({})", pads.join(", "));
    let read = |text: &str| failed(text, &pads);
    let Some(text) = ask_line(&question, |text| read(text).map(|_| ()))? else {
        return Err(left());
    };
    for (tag, why) in read(&text).unwrap_or_default() {
        let why = match why {
            Some(why) => why,
            None => {
                let chosen = ask_which(&format!("What is it with {tag}?"), &REASONS)?;
                chosen.ok_or_else(left)?.to_owned()
            }
        };
        let found = options::pad_use(&format!("{tag}:{why}"));
        let found = found.map_err(|error| Fault::usage("--pad", error))?;
        put_pad(&mut request.pads, found);
    }
    Ok(())
}

fn put_pad(pads: &mut Vec<PadUse>, found: PadUse) {
    pads.retain(|pad| pad.tag != found.tag);
    pads.push(found);
}

/// Pads by tag or by number, each with why it failed where that was said: `3 torn, P-05`.
pub(super) fn failed(text: &str, pads: &[&str]) -> Result<Vec<(String, Option<String>)>, String> {
    let mut found: Vec<(String, Option<String>)> = Vec::new();
    let split = |c: char| c.is_whitespace() || matches!(c, ',' | ':' | ';' | '=');
    for word in text.split(split).filter(|word| !word.is_empty()) {
        let lower = word.to_lowercase();
        if REASONS.contains(&lower.as_str()) {
            match found.last_mut() {
                Some((_, why)) => *why = Some(lower),
                None => return Err(format!("which pad is {word}? Write for example 3 {word}")),
            }
        } else {
            found.push((pad_of(word, pads)?, None));
        }
    }
    Ok(found)
}

/// The pad that a word names: by its tag, or by the number on it.
fn pad_of(word: &str, pads: &[&str]) -> Result<String, String> {
    if let Some(tag) = pads.iter().find(|tag| tag.eq_ignore_ascii_case(word)) {
        return Ok((*tag).to_owned());
    }
    let digits = word.trim_start_matches(|c: char| !c.is_ascii_digit());
    let number: Option<u32> = digits.parse().ok();
    let of_number = |tag: &&&str| {
        let digits = tag
            .rsplit('-')
            .next()
            .and_then(|digits| digits.parse().ok());
        number.is_some() && digits == number
    };
    match pads.iter().find(of_number) {
        Some(tag) => Ok((*tag).to_owned()),
        None => Err(format!(
            "'{word}' is no pad of this job; write one of {}",
            pads.join(", ")
        )),
    }
}

fn other_pads(request: &mut LogUseRequest, understood: &Entry) -> Result<(), Fault> {
    let pads = subjects(understood, DeedKind::PadUsed);
    let question = format!("Other pads, as PLANNED=USED? ({})", pads.join(", "));
    let Some(text) = ask_line(&question, |text| swaps(text).map(|_| ()))? else {
        return Err(left());
    };
    request.swaps.extend(swaps(&text).unwrap_or_default());
    Ok(())
}

fn swaps(text: &str) -> Result<Vec<Swap>, String> {
    let parts = text
        .split(',')
        .map(str::trim)
        .filter(|part| !part.is_empty());
    parts.map(options::swap).collect()
}

/// Asks what each bottle weighs.
fn weights(request: &mut LogUseRequest, understood: &Entry) -> Result<(), Fault> {
    for bottle in subjects(understood, DeedKind::LiquidUsed) {
        let question = format!("{bottle} weighs, in grams with its cap (Enter: not weighed)");
        let read = |text: &str| weight(bottle, text);
        let Some(text) = ask_line(&question, |text| read(text).map(|_| ()))? else {
            return Err(left());
        };
        if let Some(weighing) = read(&text).ok().flatten() {
            request.weighings.retain(|held| held.bottle != bottle);
            request.weighings.push(weighing);
        }
    }
    Ok(())
}

/// A weight of a bottle, in grams where no unit stands; nothing for an empty answer.
fn weight(bottle: &str, text: &str) -> Result<Option<Weighing>, String> {
    let text = text.trim();
    if text.is_empty() {
        return Ok(None);
    }
    let is_bare = text
        .chars()
        .all(|c| c.is_ascii_digit() || matches!(c, '.' | ','));
    let unit = if is_bare { " g" } else { "" };
    options::weighing(&format!("{bottle}={text}{unit}")).map(Some)
}

fn towels(request: &mut LogUseRequest, understood: &Entry) -> Result<(), Fault> {
    let bundles = subjects(understood, DeedKind::TowelsUsed);
    for bundle in bundles {
        let question = format!("Towels used of {bundle} (Enter: as planned)");
        let Some(text) = ask_line(&question, |text| count(text).map(|_| ()))? else {
            return Err(left());
        };
        if let Some(used_count) = count(&text).ok().flatten() {
            request.bundles.retain(|held| held.bundle != bundle);
            request.bundles.push(BundleUse {
                bundle: bundle.to_owned(),
                used_count,
            });
        }
    }
    let fell = ask_line("Towels that fell (Enter: none)", |text| {
        count(text).map(|_| ())
    })?;
    let fell = fell.ok_or_else(left)?;
    if let Some(fell) = count(&fell).ok().flatten() {
        request.dropped_towel_count = fell;
    }
    Ok(())
}

/// A count; nothing for an empty answer.
pub(super) fn count(text: &str) -> Result<Option<i64>, String> {
    let text = text.trim();
    if text.is_empty() {
        return Ok(None);
    }
    let read = fettlebook_quantity::parse_count(text);
    read.map(|count| Some(count.get()))
        .map_err(|error| error.to_string())
}

/// Asks how long the machines ran.
fn minutes(request: &mut LogUseRequest, understood: &Entry) -> Result<(), Fault> {
    let machines = subjects(understood, DeedKind::MachineUsed);
    let question = match machines.as_slice() {
        [first, _, ..] => format!(
            "Minutes the machines ran in all, or each as {first}=95 ({}; Enter: as planned)",
            machines.join(", ")
        ),
        _ => "Minutes the machines ran in all (Enter: as planned)".to_owned(),
    };
    let read = |text: &str| ran(text, &machines);
    let Some(text) = ask_line(&question, |text| read(text).map(|_| ()))? else {
        return Err(left());
    };
    for one in read(&text).unwrap_or_default() {
        match one {
            Minutes::All(time_s) => request.machine_time_s = Some(time_s),
            Minutes::Of(machine, time_s) => {
                request.machines.retain(|held| held.machine != machine);
                request.machines.push(MachineTime { machine, time_s });
            }
        }
    }
    Ok(())
}

/// How long machines ran that are in the job; nothing where the answer is left empty.
fn ran(text: &str, machines: &[&str]) -> Result<Vec<Minutes>, String> {
    if text.trim().is_empty() {
        return Ok(Vec::new());
    }
    let told = all_minutes(text)?;
    for one in &told {
        if let Minutes::Of(machine, _) = one
            && !machines.contains(&machine.as_str())
        {
            return Err(format!(
                "'{machine}' is no machine of this job; write one of {}",
                machines.join(", ")
            ));
        }
    }
    Ok(told)
}

fn panels(request: &mut LogUseRequest) -> Result<(), Fault> {
    let question = "Panels that were left out, for example roof, bonnet";
    let Some(text) = ask_line(question, |text| left_out(text).map(|_| ()))? else {
        return Err(left());
    };
    request
        .left_out_panels
        .extend(left_out(&text).unwrap_or_default());
    Ok(())
}

fn left_out(text: &str) -> Result<Vec<String>, String> {
    let words = text.split([',', ' ']).map(str::trim);
    let words = words.filter(|word| !word.is_empty());
    words
        .map(|word| options::panel_off(&format!("-{}", word.trim_start_matches('-'))))
        .collect()
}

/// What an entry says of this kind, each once.
fn subjects(entry: &Entry, kind: DeedKind) -> Vec<&str> {
    let mut found: Vec<&str> = Vec::new();
    for deed in entry.deeds.iter().filter(|deed| deed.kind() == kind) {
        if !found.contains(&deed.subject.as_str()) {
            found.push(&deed.subject);
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::{count, failed, left_out, letters, ran, swaps, weight};
    use crate::figures::minutes::Minutes;

    const PADS: [&str; 3] = ["P-03", "P-05", "P-13"];

    #[test]
    fn a_pad_goes_by_its_tag_or_the_number_on_it_and_why_may_follow() {
        let one = |tag: &str, why: Option<&str>| (tag.to_owned(), why.map(str::to_owned));
        assert_eq!(failed("3", &PADS), Ok(vec![one("P-03", None)]));
        assert_eq!(
            failed("3 torn, P-05 dropped p13", &PADS),
            Ok(vec![
                one("P-03", Some("torn")),
                one("P-05", Some("dropped")),
                one("P-13", None)
            ])
        );
        assert_eq!(
            failed("p-03:torn", &PADS),
            Ok(vec![one("P-03", Some("torn"))])
        );
        assert_eq!(failed("  ", &PADS), Ok(Vec::new()));
        let refused = failed("7", &PADS).unwrap_err();
        assert!(
            refused.contains("'7'") && refused.contains("P-03, P-05"),
            "{refused}"
        );
        assert!(failed("torn", &PADS).unwrap_err().contains("3 torn"));
    }

    #[test]
    fn minutes_are_of_all_machines_or_of_those_of_the_job() {
        const MACHINES: [&str; 2] = ["M-01", "M-02"];
        assert_eq!(ran(" ", &MACHINES), Ok(Vec::new()));
        assert_eq!(ran("95", &MACHINES), Ok(vec![Minutes::All(5_700)]));
        let of_one = Minutes::Of("M-02".to_owned(), 1_200);
        assert_eq!(ran("m2=20", &MACHINES), Ok(vec![of_one]));
        let refused = ran("M-01=95, M-07=20", &MACHINES).unwrap_err();
        assert!(
            refused.contains("'M-07'") && refused.contains("M-01, M-02"),
            "{refused}"
        );
        assert!(ran("soon", &MACHINES).is_err());
    }

    #[test]
    fn a_bare_weight_is_in_grams() {
        let read = |text| weight("B-01", text).unwrap().map(|one| one.gross_mg);
        assert_eq!(read("431"), Some(431_000));
        assert_eq!(read("0.5 kg"), Some(500_000));
        assert_eq!(read(" "), None);
        assert!(weight("B-01", "heavy").unwrap_err().contains("heavy"));
    }

    #[test]
    fn letters_choose_what_is_asked_and_others_are_named() {
        assert_eq!(letters("pw"), Ok(vec!['p', 'w']));
        assert_eq!(letters(" P, w "), Ok(vec!['p', 'w']));
        assert_eq!(letters(""), Ok(Vec::new()));
        assert!(letters("pz").unwrap_err().contains("'z'"));
    }

    #[test]
    fn counts_swaps_and_panels_are_read_as_in_the_options() {
        assert_eq!(count("7"), Ok(Some(7)));
        assert_eq!(count(""), Ok(None));
        assert!(count("many").is_err());
        assert_eq!(swaps("P-03=P-09").unwrap()[0].used, "P-09");
        assert!(swaps("P-03").is_err());
        assert_eq!(left_out("roof, -bonnet").unwrap(), ["roof", "bonnet"]);
    }
}
