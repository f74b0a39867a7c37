//! The words that tell what sort of thing it is.

use fettlebook_contract::v1::ToolKind;

/// Sorts of things.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Sort {
    Pad,
    Plate,
    Machine,
    Towel,
    Liquid,
    Gloves,
    Tape,
    Wipe,
    Counted,
    Tool(ToolKind),
}

/// Words that tell a sort, the surer ones first. Several words in one stand side by side.
pub(super) const SORTS: [(Sort, &[&str]); 15] = [
    (
        Sort::Tool(ToolKind::FilmGauge),
        &[
            "film gauge",
            "paint gauge",
            "thickness gauge",
            "gauge",
            "ptg",
            "schichtdickenmesser",
            "lackdickenmesser",
        ],
    ),
    (
        Sort::Tool(ToolKind::InspectionLight),
        &[
            "inspection light",
            "light",
            "lamp",
            "torch",
            "swirl finder",
            "lampe",
            "leuchte",
        ],
    ),
    (
        Sort::Tool(ToolKind::ExtensionShaft),
        &["extension shaft", "extension", "verlangerung"],
    ),
    (
        Sort::Tool(ToolKind::PadBrush),
        &[
            "pad brush",
            "brush",
            "pad cleaning brush",
            "padburste",
            "burste",
        ],
    ),
    (Sort::Tool(ToolKind::Mat), &["floor mat", "mat"]),
    (
        Sort::Plate,
        &[
            "backing plate",
            "backing pad",
            "plate",
            "plates",
            "backer",
            "stutzteller",
            "steunschijf",
            "teller",
        ],
    ),
    (
        Sort::Machine,
        &[
            "polisher",
            "polishing machine",
            "machine",
            "spindle tool",
            "poliermaschine",
            "exzenter",
            "polijstmachine",
            "pulidora",
            "polisseuse",
        ],
    ),
    (
        Sort::Towel,
        &[
            "towel",
            "towels",
            "cloth",
            "cloths",
            "tuch",
            "tucher",
            "mikrofasertuch",
            "mikrofasertucher",
            "doek",
            "doeken",
            "toalla",
            "toallas",
            "serviette",
            "serviettes",
        ],
    ),
    (
        Sort::Pad,
        &[
            "pad",
            "pads",
            "applicator",
            "applicators",
            "polierpad",
            "polierpads",
            "polierschwamm",
            "schwamm",
            "boina",
            "wool bonnet",
        ],
    ),
    (
        Sort::Gloves,
        &[
            "glove",
            "gloves",
            "handschuhe",
            "handschoenen",
            "guantes",
            "gants",
        ],
    ),
    (
        Sort::Tape,
        &[
            "tape",
            "masking",
            "klebeband",
            "abdeckband",
            "kreppband",
            "plakband",
            "cinta",
        ],
    ),
    (
        Sort::Wipe,
        &[
            "panel wipe",
            "wipe",
            "ipa",
            "isopropyl",
            "isopropanol",
            "alcohol",
            "degreaser",
            "prep spray",
            "kontrollspray",
            "entfetter",
        ],
    ),
    (
        Sort::Liquid,
        &[
            "compound",
            "polish",
            "liquid",
            "paste",
            "cutting paste",
            "abrasive",
            "politur",
            "schleifpaste",
            "polijstmiddel",
            "pulimento",
            "finishing polish",
            "glaze",
        ],
    ),
    (
        Sort::Machine,
        &[
            "orbital",
            "rotary",
            "da",
            "dual action",
            "gear driven",
            "forced rotation",
        ],
    ),
    (
        Sort::Pad,
        &[
            "foam",
            "wool",
            "microfibre",
            "microfiber",
            "lambswool",
            "schaum",
            "wolle",
        ],
    ),
];

/// Sorts by what stands above a part of a sheet.
pub(super) const SECTIONS: [(Sort, &[&str]); 6] = [
    (
        Sort::Pad,
        &["pads", "polishing pads", "foam pads", "polierpads"],
    ),
    (Sort::Plate, &["plates", "backing plates"]),
    (
        Sort::Machine,
        &["machines", "polishers", "polishing machines", "maschinen"],
    ),
    (
        Sort::Towel,
        &["towels", "cloths", "tucher", "microfibre towels"],
    ),
    (
        Sort::Liquid,
        &[
            "liquids",
            "compounds",
            "polishes",
            "compounds and polishes",
            "polish",
            "polituren",
        ],
    ),
    (
        Sort::Counted,
        &[
            "consumables",
            "sundries",
            "misc",
            "other",
            "tools",
            "verbrauchsmaterial",
            "sonstiges",
        ],
    ),
];
