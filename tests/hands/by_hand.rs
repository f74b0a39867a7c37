//! The client without a terminal, and the kit of the first hour set up command by command.

use std::path::Path;
use std::process::{Command, Output, Stdio};

use serde_json::Value;

/// What commands took to type.
#[derive(Default)]
pub(crate) struct Typed {
    pub(crate) count: usize,
    pub(crate) letters: usize,
}

fn run(book: &Path, args: &[&str], input: &str) -> Output {
    let home = book.parent().unwrap();
    // A folder that is not there is taken for a slip of the finger, but by what begins a book.
    if !args.starts_with(&["start"]) && !args.starts_with(&["sheet"]) {
        std::fs::create_dir_all(book).unwrap();
    }
    let mut command = Command::new(env!("CARGO_BIN_EXE_fettle"));
    command.arg("--book").arg(book).args(args);
    command
        .env("XDG_STATE_HOME", home)
        .env("XDG_DATA_HOME", home);
    command.env("TZ", "UTC").env("NO_COLOR", "1");
    command
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped());
    let mut child = command.spawn().unwrap();
    let mut keys = child.stdin.take().unwrap();
    std::io::Write::write_all(&mut keys, input.as_bytes()).unwrap();
    drop(keys);
    child.wait_with_output().unwrap()
}

/// Runs a command that must do what is asked.
pub(crate) fn fettle(book: &Path, args: &[&str]) -> String {
    told(args, run(book, args, ""))
}

/// How a command ends that is given this on standard input, and what it says on standard error.
pub(crate) fn fettle_with(book: &Path, args: &[&str], input: &str) -> (Option<i32>, String) {
    let output = run(book, args, input);
    let said = String::from_utf8_lossy(&output.stderr);
    // Lines are wrapped to the page.
    let said = said.split_whitespace().collect::<Vec<_>>().join(" ");
    (output.status.code(), said)
}

/// What a command answers that may say no, as a check does.
pub(crate) fn told_by(book: &Path, args: &[&str]) -> String {
    let output = run(book, args, "");
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    assert!(
        matches!(output.status.code(), Some(0 | 3)),
        "{args:?}: {said}"
    );
    String::from_utf8(output.stdout).unwrap()
}

fn told(args: &[&str], output: Output) -> String {
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    assert!(output.status.success(), "{args:?}: {said}");
    String::from_utf8(output.stdout).unwrap()
}

/// The document of a command.
pub(crate) fn json(book: &Path, args: &[&str]) -> Value {
    let args = [args, &["--json"]].concat();
    serde_json::from_str(&fettle(book, &args)).unwrap()
}

/// Number of the last entry.
pub(crate) fn head(book: &Path) -> String {
    let standing = json(book, &["book", "where"]);
    standing["book"]["headSeq"]
        .as_str()
        .unwrap_or("0")
        .to_owned()
}

/// The commands of the first hour's kit. `|` stands between words, so that a name may have blanks.
const COMMANDS: &str = "\
make|add|machine|orbital-150|--name|150 mm orbital, 15 mm throw|--action|orbital|--throw|15 mm|--thread|M8|--max-speed|4800/min|--work-speed|4500/min
make|add|plate|plate-125-m8|--name|plate 125 M8|--diameter|125 mm|--thread|M8
make|add|machine|orbital-75|--name|75 mm orbital, 12 mm throw|--action|orbital|--throw|12 mm|--thread|M8|--max-speed|5500/min|--work-speed|5000/min|--spot
make|add|plate|plate-75-m8|--name|plate 75 M8|--diameter|75 mm|--thread|M8
make|add|machine|spindle-30|--name|rotary spindle tool with 30 mm pads|--action|rotary|--thread|M6|--max-speed|5000/min|--work-speed|2000/min|--spot
make|add|plate|plate-20-m6|--name|plate 20 M6|--diameter|20 mm|--thread|M6
make|add|pad|coarse-foam-150|--name|coarse foam 150|--material|thin-foam|--grade|coarse|--face|150 mm
make|add|pad|fine-foam-150|--name|fine foam 150|--material|thin-foam|--grade|fine|--face|150 mm
make|add|pad|medium-foam-80|--name|medium foam 80|--material|thin-foam|--grade|medium|--face|80 mm
make|add|pad|pencil-foam-30|--name|pencil foam 30|--material|thin-foam|--grade|fine|--face|30 mm
make|add|liquid|coarse-compound-1l|--name|coarse compound 1 L|--grade|coarse|--bottle|1 l
make|add|liquid|medium-polish-500ml|--name|medium polish 500 mL|--grade|medium|--bottle|500 ml
make|add|liquid|fine-polish-500ml|--name|fine polish 500 mL|--grade|fine|--bottle|500 ml
make|add|towel|edgeless-towel-400g|--name|edgeless towel 400 g|--weight|400 g/m2
make|add|sundry|nitrile-gloves-50|--name|nitrile gloves, box of 50 pairs|--holds|50 pairs
make|add|sundry|masking-tape-50|--name|masking tape 50 m|--holds|50 m
make|add|sundry|panel-wipe-1l|--name|panel wipe 1 L|--holds|1 l|--ghs|H225,H319,H336
make|add|tool|pad-brush|--name|pad brush|--kind|pad-brush
receive|orbital-150
receive|plate-125-m8
receive|orbital-75
receive|plate-75-m8
receive|spindle-30
receive|plate-20-m6
receive|coarse-foam-150|--count|3
receive|fine-foam-150|--count|6
receive|medium-foam-80|--count|4
receive|pencil-foam-30|--count|4
receive|coarse-compound-1l|--holds|750 ml
receive|medium-polish-500ml
receive|fine-polish-500ml|--holds|358.095 ml
weigh|B-03=431g
receive|edgeless-towel-400g|--towels|24
receive|nitrile-gloves-50
receive|masking-tape-50
receive|panel-wipe-1l
receive|pad-brush
car|add|medium-saloon|--class|medium-saloon";

/// Large panels, and those of the other machines.
const LARGE: [&str; 11] = [
    "bonnet",
    "roof",
    "boot",
    "front-door-left",
    "front-door-right",
    "rear-door-left",
    "rear-door-right",
    "front-wing-left",
    "front-wing-right",
    "rear-quarter-left",
    "rear-quarter-right",
];
const LOW: [&str; 4] = ["front-bumper", "rear-bumper", "sill-left", "sill-right"];
const EDGES: [&str; 4] = [
    "pillars-left",
    "pillars-right",
    "mirror-left",
    "mirror-right",
];

/// Sets the kit up, and says what it took to type.
pub(crate) fn set_up(book: &Path) -> Typed {
    let mut typed = Typed::default();
    let mut say = |args: &[&str], input: &str| {
        typed.count += 1;
        typed.letters +=
            "fettle".len() + args.iter().map(|arg| arg.len() + 1).sum::<usize>() + 1 + input.len();
        told(args, run(book, args, input));
    };
    for line in COMMANDS.lines() {
        say(&line.split('|').collect::<Vec<_>>(), "");
    }
    let used = "tag,make,place,work,jobs,washes,status,reason,date\n\
                P-18,coarse-foam-150,bench,,8,8,,,\nP-19,coarse-foam-150,bench,,8,8,,,\n";
    say(&["book", "import", "--pads", "-"], used);
    say(
        &["routine", "add", "two-step", "--from", "-"],
        &routine().to_string(),
    );
    let job = [
        "job",
        "add",
        "first",
        "--car",
        "medium-saloon",
        "--routine",
        "two-step",
    ];
    say(&[&job[..], &["--start", "tomorrow 08:00"]].concat(), "");
    typed
}

/// The two-step of three machines.
fn routine() -> Value {
    let step = |name: &str, machine: &str, pad: &str, liquid: &str, panels: &[&str]| {
        serde_json::json!({
            "step": name, "machineMake": machine, "padMake": pad, "liquidMake": liquid, "panels": panels,
        })
    };
    serde_json::json!({
        "routine": "two-step",
        "name": "two-step: cut, then finish",
        "steps": [
            step("cut", "orbital-150", "coarse-foam-150", "coarse-compound-1l", &LARGE),
            step("finish", "orbital-150", "fine-foam-150", "fine-polish-500ml", &LARGE),
            step("tight", "orbital-75", "medium-foam-80", "medium-polish-500ml", &LOW),
            step("edges", "spindle-30", "pencil-foam-30", "fine-polish-500ml", &EDGES),
        ],
        "towelMake": "edgeless-towel-400g",
        "sundries": [
            {"make": "nitrile-gloves-50", "perJobQuantity": 2},
            {"make": "masking-tape-50", "perJobQuantity": 4000, "perM2Quantity": 900},
            {"make": "panel-wipe-1l", "perM2Quantity": 12000},
        ],
        "tools": [{"make": "pad-brush"}],
    })
}
