//! Values of the fields of messages, by the names of the fields.
//!
//! It serves the fuzzing of the edge: most ids are known ones and most figures possible, a few are
//! what nobody would send.

use prost_reflect::{DynamicMessage, FieldDescriptor, MessageDescriptor, Value};
use rand::{RngExt as _, SeedableRng as _};
use rand_chacha::ChaCha8Rng;
use uuid::Uuid;

use crate::edge::tests::NOW;

/// Chances in a hundred: that a value is any old one, and that a request id has been used before.
pub(super) const ODD: u32 = 5;
const REPEATED: u32 = 6;
/// Letters of a text that is far too long.
const LONG_TEXT_LENGTH: usize = 20_000;

const PADS: &[&str] = &["P-01", "P-02", "P-03", "P-04", "P-05", "P-06", "P-41"];
const TAGS: &[&str] = &[
    "P-01", "P-02", "P-03", "P-04", "P-05", "P-06", "P-07", "BP-01", "M-01", "T-01", "B-01", "S-01",
];
pub(super) const MAKES: &[&str] = &[
    "coarse-foam-150",
    "plate-125-m8",
    "orbital-150",
    "edgeless-towel-400-g",
    "coarse-compound-1-l",
    "nitrile-gloves",
    "fine-foam-80",
];
const PLACES: &[&str] = &["bench", "van-a", "van-b"];
pub(super) const JOBS: &[&str] = &["saloon-thursday", "saloon-friday"];
const CARS: &[&str] = &[
    "medium-saloon-silver",
    "medium-saloon-silver",
    "city-car-red",
];
const ROUTINES: &[&str] = &["one-step", "one-step", "two-step"];
pub(super) const SUPPLIERS: &[&str] = &["tern-quay", "tern-quay", "millrace"];
const ORDERS: &[&str] = &["order-1", "order-1", "order-2", "order-3"];
const KEYS: &[&str] = &[
    "dot_ul",
    "spare_pads_count",
    "density_polish_mg_per_ml",
    "no_such_key",
];
const STEPS: &[&str] = &["cut", "finish"];
const DATES: &[&str] = &[
    "2026-06-03",
    "2026-06-04",
    "2026-06-20",
    "2027-01-01",
    "2025-12-31",
];
const AMOUNTS: &[&str] = &["0", "12.34", "80", "0.01", "289.00", "-1"];
const PANELS: &[&str] = &["roof", "bonnet", "boot"];
const SUBJECTS: &[&str] = &[
    "P-01",
    "saloon-thursday",
    "nitrile-gloves",
    "piece/P-01",
    "policy",
];
const WORDS: &[&str] = &["", "as said", "H317", "M8", "lot 7", "coarse foam 150"];
pub(super) const ODD_TEXTS: &[&str] = &[
    "",
    " ",
    "\u{0}",
    "\n",
    "P-0",
    "P-00000000001",
    "p-01",
    "-",
    "9999-12-31",
    "-0",
    "1e9",
    "99999999999999999999.99",
    "0.0000000000000000000000000001",
    "é\u{301}\u{202e}",
    "../../etc",
    "{{ x }}",
    "'; --",
    "NaN",
];
const FIGURES: &[i64] = &[
    0,
    1,
    1,
    2,
    2,
    3,
    5,
    7,
    10,
    20,
    50,
    80,
    150,
    400,
    1_000,
    4_500,
    60_500,
    300_000,
    1_000_000,
    1_000_000_000,
    1_000_000_000_000,
];
const ODD_FIGURES: &[i64] = &[
    -1,
    i64::MAX,
    i64::MIN,
    i64::MAX - 1,
    1 << 31,
    -(1 << 31),
    1 << 53,
    1_000_000_000_000,
    999_999_999_999_999_999,
];

/// A moment: in the days to come for what is planned, in those before for what was done.
pub(super) fn timestamp(
    kind: &MessageDescriptor,
    name: &str,
    rng: &mut ChaCha8Rng,
) -> DynamicMessage {
    let now: fettlebook_model::Moment = NOW.parse().unwrap();
    let hours = if name == "start_time" {
        1..1_000
    } else {
        -200..1
    };
    let near = now.as_second() + rng.random_range(hours) * 3_600;
    let odd = rng.random_ratio(ODD, 100);
    let (seconds, nanos) = if odd {
        (
            pick(ODD_FIGURES, rng),
            pick(&[-1, 999_999_999, i32::MAX], rng),
        )
    } else {
        (near, 0)
    };
    let mut message = DynamicMessage::new(kind.clone());
    message.set_field_by_name("seconds", Value::I64(seconds));
    message.set_field_by_name("nanos", Value::I32(nanos));
    message
}

pub(super) fn text(field: &FieldDescriptor, rng: &mut ChaCha8Rng) -> String {
    let (name, kind) = (field.name(), field.parent_message());
    if name == "request_id" && !rng.random_ratio(ODD / 2, 100) {
        return request_id(rng);
    }
    if rng.random_ratio(ODD, 100) {
        return match rng.random_range(0..20) {
            0 => "x".repeat(LONG_TEXT_LENGTH),
            _ => pick(ODD_TEXTS, rng).to_owned(),
        };
    }
    let words = match name {
        "tag" | "tags" => match kind.name() {
            "WashKitRequest" | "MarkDryRequest" => &["P-01", "P-02", "P-03", "P-04", "T-01"],
            "Inspection" | "PadUse" => PADS,
            "DemoteTowelsRequest" => &["T-01", "T-02"],
            "CountKitRequest" => &["B-01", "T-01", "S-01", "P-01"],
            _ => TAGS,
        },
        "used" | "planned" => PADS,
        "bottle" => &["B-01", "B-01", "P-01"],
        "bundle" => &["T-01", "T-01", "T-02"],
        "plate" => &["BP-01"],
        "machine" => &["M-01"],
        "make" => MAKES,
        "pad_make" => &["coarse-foam-150"],
        "machine_make" => &["orbital-150"],
        "liquid_make" => &["coarse-compound-1-l"],
        "towel_make" => &["edgeless-towel-400-g"],
        "place" | "places" => PLACES,
        "job" | "jobs" => JOBS,
        "car" => CARS,
        "routine" => ROUTINES,
        "supplier" => SUPPLIERS,
        "order" => ORDERS,
        "step" => STEPS,
        "key" => KEYS,
        "amount" => AMOUNTS,
        "currency_code" => &["EUR", "EUR", "EUR", "USD"],
        "panel" | "panels" | "left_out_panels" => PANELS,
        "subject" => SUBJECTS,
        "page_token" => &["", "", "", "AAAA"],
        name if name.ends_with("date") => DATES,
        _ => WORDS,
    };
    pick(words, rng).to_owned()
}

/// A request id as clients make them; now and then one that was sent before.
fn request_id(rng: &mut ChaCha8Rng) -> String {
    if rng.random_ratio(REPEATED, 100) {
        let mut few = ChaCha8Rng::seed_from_u64(rng.random_range(0..3));
        return Uuid::from_bytes(few.random()).to_string();
    }
    let at_ms = rng.random_range(1_780_000_000_000_u64..1_790_000_000_000);
    let bytes: [u8; 10] = rng.random();
    uuid::Builder::from_unix_timestamp_millis(at_ms, &bytes)
        .into_uuid()
        .to_string()
}

pub(super) fn figure(rng: &mut ChaCha8Rng) -> i64 {
    if rng.random_ratio(ODD, 100) {
        pick(ODD_FIGURES, rng)
    } else {
        pick(FIGURES, rng)
    }
}

pub(super) fn pick<T: Copy>(from: &[T], rng: &mut ChaCha8Rng) -> T {
    from[rng.random_range(0..from.len())]
}

/// Changes a few bytes of an encoded message.
pub(super) fn spoil(bytes: &mut Vec<u8>, rng: &mut ChaCha8Rng) {
    for _ in 0..rng.random_range(1..4) {
        let at = rng.random_range(0..=bytes.len());
        match rng.random_range(0..4) {
            0 => bytes.insert(at, rng.random()),
            1 => bytes.truncate(at),
            2 if at < bytes.len() => drop(bytes.remove(at)),
            _ => {
                if let Some(byte) = bytes.get_mut(at) {
                    *byte ^= 1 << rng.random_range(0..8);
                }
            }
        }
    }
}
