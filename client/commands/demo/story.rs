//! The story the demo tells: when, what is said about it, and the command that is really run.
//!
//! It serves newcomers and tests. Everything in it is invented; the answers are not in it, they come
//! from the service.

/// One thing that happens.
pub(super) struct Scene {
    /// Days after the day of the job; negative is before.
    pub(super) day: i32,
    /// Local time of day, hours and minutes.
    pub(super) time: (i8, i8),
    /// What is said before it; empty for a scene that is told without a word.
    pub(super) tell: &'static str,
    /// The command, as a person types it.
    pub(super) line: &'static [&'static str],
    /// Shown, or run without showing what it answers.
    pub(super) shown: bool,
}

const fn shown(
    day: i32,
    time: (i8, i8),
    tell: &'static str,
    line: &'static [&'static str],
) -> Scene {
    Scene {
        day,
        time,
        tell,
        line,
        shown: true,
    }
}

const fn quiet(day: i32, time: (i8, i8), line: &'static [&'static str]) -> Scene {
    Scene {
        day,
        time,
        tell: "",
        line,
        shown: false,
    }
}

/// When the shop's stock is entered: day and time.
pub(super) const BEGINNING: (i32, (i8, i8)) = (-3, (15, 0));

/// The scenes in order.
pub(super) const SCENES: &[Scene] = &[
    quiet(
        -3,
        (15, 10),
        &["kit", "aside", "BP-02", "--because", "inspect"],
    ),
    quiet(-3, (15, 15), &["charge", "all"]),
    quiet(
        -3,
        (15, 20),
        &[
            "job",
            "add",
            "red-city",
            "--car",
            "city-car-red",
            "--routine",
            "two-step",
            "--start",
            "tomorrow 08:00",
        ],
    ),
    quiet(-2, (14, 30), &["log", "red-city"]),
    shown(
        -2,
        (16, 0),
        "Yesterday's booking, a red city car, is done and logged. This is the kit on the bench now.",
        &["kit", "list", "--place", "bench"],
    ),
    shown(
        -2,
        (16, 0),
        "A silver medium saloon is booked for a two-step, the day after tomorrow at eight.",
        &[
            "job",
            "add",
            "silver-saloon",
            "--car",
            "medium-saloon-silver",
            "--routine",
            "two-step",
            "--start",
            "+40 h",
        ],
    ),
    shown(
        -2,
        (16, 0),
        "Three machines share its steps: the big one, the spot machine and pencil pads. What a panel takes \
         goes by the panel, until somebody says otherwise of the car:",
        &["car", "show", "medium-saloon-silver"],
    ),
    shown(
        -2,
        (16, 1),
        "Will the kit carry it?",
        &["check", "silver-saloon"],
    ),
    shown(
        -2,
        (16, 20),
        "No. So: wash what is soiled, charge what is empty, and look the better plate over and bring it back.",
        &["wash", "soiled"],
    ),
    shown(-2, (16, 22), "", &["charge", "all"]),
    shown(
        -2,
        (16, 25),
        "",
        &[
            "kit",
            "return",
            "BP-02",
            "--note",
            "hook face and thread are fine",
        ],
    ),
    shown(
        -2,
        (16, 26),
        "",
        &[
            "kit",
            "aside",
            "BP-01",
            "--because",
            "other",
            "--note",
            "rated below the big orbital",
        ],
    ),
    shown(-2, (16, 30), "And again.", &["check", "silver-saloon"]),
    shown(
        0,
        (13, 30),
        "The job is done. The tired pad tore on the third panel, a spare took over, a towel fell, \
         two bottles were weighed.",
        &[
            "log",
            "silver-saloon",
            "--pad",
            "P-03=9:torn",
            "--pad",
            "P-05",
            "--towels",
            "dropped=1",
            "--weigh",
            "B-01=431g",
            "--weigh",
            "B-03=56g",
        ],
    ),
    shown(
        0,
        (13, 35),
        "What wore:",
        &["kit", "list", "--make", "coarse-foam-150", "--binned"],
    ),
    shown(
        0,
        (13, 35),
        "What coarse foam really lasts here, with the notebook of the year before:",
        &["wear", "coarse-foam-150"],
    ),
    shown(
        0,
        (13, 36),
        "The life of the pad that tore:",
        &["kit", "show", "P-03"],
    ),
    shown(
        0,
        (13, 36),
        "One of the batteries that the spot machine ran on, with what a charge of it still gives:",
        &["kit", "show", "BT-01"],
    ),
    shown(
        0,
        (13, 37),
        "What is left to pour:",
        &["kit", "list", "--make", "coarse-compound-1l"],
    ),
    shown(
        0,
        (13, 38),
        "",
        &["kit", "list", "--make", "fine-polish-500ml"],
    ),
    shown(
        0,
        (13, 40),
        "All of it is in the book, line by line:",
        &["book", "entries", "--about", "silver-saloon"],
    ),
    shown(0, (13, 41), "And the book is whole:", &["book", "verify"]),
    quiet(0, (13, 50), &["wash", "soiled"]),
    quiet(0, (13, 51), &["charge", "all"]),
    quiet(
        0,
        (13, 55),
        &[
            "job",
            "add",
            "black-suv",
            "--car",
            "large-suv-black",
            "--routine",
            "two-step",
            "--start",
            "+42 h",
        ],
    ),
    quiet(
        0,
        (13, 56),
        &[
            "job",
            "add",
            "red-city-again",
            "--car",
            "city-car-red",
            "--routine",
            "two-step",
            "--start",
            "+66 h",
        ],
    ),
    quiet(
        0,
        (13, 57),
        &[
            "job",
            "add",
            "silver-finish",
            "--car",
            "medium-saloon-silver",
            "--routine",
            "finish-only",
            "--start",
            "+90 h",
        ],
    ),
    quiet(
        0,
        (13, 58),
        &[
            "job",
            "add",
            "white-van",
            "--car",
            "panel-van-white",
            "--routine",
            "finish-only",
            "--start",
            "+138 h",
        ],
    ),
    quiet(
        0,
        (13, 59),
        &[
            "job",
            "add",
            "saloon-edges",
            "--car",
            "medium-saloon-silver",
            "--routine",
            "spot-correction",
            "--start",
            "+114 h",
        ],
    ),
    shown(
        0,
        (14, 0),
        "A black SUV is booked for the day after tomorrow, and four more jobs for the week. Will the kit \
         carry them all?",
        &["check", "--week"],
    ),
    shown(
        0,
        (14, 1),
        "What has to be ordered, and by when?",
        &["reorder"],
    ),
    shown(
        0,
        (14, 3),
        "What goes along to one of them can be taken, and then other jobs leave it alone:",
        &["take", "silver-finish", "--dry-run"],
    ),
    shown(
        0,
        (14, 4),
        "And this is what fettle alone says in the evening:",
        &["today"],
    ),
    shown(
        0,
        (14, 5),
        "And what do the materials of a job like the last one cost a customer?",
        &["quote", "silver-saloon", "--markup", "30%", "--tax", "21%"],
    ),
];
