//! The shop of the month: makes, kit, cars, routines and jobs, as a client sends them. All of it invented.

use serde_json::{Value, json};

/// Every make, priced as sold.
pub(super) fn makes() -> Vec<Value> {
    let made = |id: &str, price: &str, pack: i64, sort: &str, figures: Value| {
        json!({
            "make": id, "name": id.replace('-', " "), "packCount": pack,
            "price": { "amount": price, "currencyCode": "EUR" }, sort: figures,
        })
    };
    let pad = |grade: &str, face: i64| json!({ "material": "PAD_MATERIAL_THIN_FOAM", "grade": grade, "faceMm": face });
    let plate = |diameter: i64, thread: &str| json!({ "diameterMm": diameter, "thread": thread, "ratedSpeedPerMin": 12_000 });
    let liquid = |grade: &str, bottle_ul: i64, tare_mg: i64| json!({ "grade": grade, "bottleUl": bottle_ul, "tareMg": tare_mg });
    let sundry = |unit: &str, pack: i64| json!({ "unit": unit, "packQuantity": pack });
    let big = json!({
        "action": "MACHINE_ACTION_ORBITAL", "throwMm": 15, "thread": "M8", "maxSpeedPerMin": 4_800,
        "workSpeedPerMin": 4_500, "vibrationMmPerS2": 2_100, "vibrationMeasured": true, "noiseDb": 76,
    });
    let spot = json!({
        "action": "MACHINE_ACTION_ORBITAL", "throwMm": 12, "thread": "M8", "maxSpeedPerMin": 5_500,
        "workSpeedPerMin": 5_000, "vibrationMmPerS2": 2_600, "vibrationMeasured": true, "noiseDb": 74,
        "spot": true, "cordless": true,
    });
    // Of this one only the declared value is known.
    let pencil = json!({
        "action": "MACHINE_ACTION_ROTARY", "thread": "M6", "maxSpeedPerMin": 3_200, "workSpeedPerMin": 2_000,
        "vibrationMmPerS2": 900, "noiseDb": 70, "spot": true,
    });
    let battery =
        json!({ "machineMakes": ["cordless-75"], "runTimeS": 2_400, "chargeTimeS": 3_600 });
    let towel = json!({ "weightGPerM2": 400 });
    let (coarse, fine) = ("GRADE_COARSE", "GRADE_FINE");
    vec![
        made("orbital-150", "289.00", 1, "machine", big),
        made("cordless-75", "219.00", 1, "machine", spot),
        made("spindle-30", "149.00", 1, "machine", pencil),
        made("battery-75", "69.00", 1, "battery", battery),
        made("plate-125-m8", "24.50", 1, "plate", plate(125, "M8")),
        made("plate-75-m8", "18.00", 1, "plate", plate(70, "M8")),
        made("plate-20-m6", "9.00", 1, "plate", plate(20, "M6")),
        made("coarse-foam-150", "18.90", 2, "pad", pad(coarse, 150)),
        made("fine-foam-150", "17.90", 2, "pad", pad(fine, 150)),
        made("coarse-foam-80", "16.50", 2, "pad", pad(coarse, 80)),
        made("fine-foam-80", "15.50", 2, "pad", pad(fine, 80)),
        made("pencil-foam-30", "12.00", 4, "pad", pad(fine, 30)),
        made(
            "coarse-compound-1l",
            "38.00",
            1,
            "liquid",
            liquid(coarse, 1_000_000, 82_000),
        ),
        made(
            "fine-polish-500ml",
            "27.00",
            1,
            "liquid",
            liquid(fine, 500_000, 54_000),
        ),
        made("edgeless-towel", "34.00", 12, "towel", towel),
        made(
            "nitrile-gloves",
            "9.80",
            1,
            "sundry",
            sundry("UNIT_PAIR", 50),
        ),
        made(
            "masking-tape",
            "5.20",
            1,
            "sundry",
            sundry("UNIT_MILLIMETRE", 50_000),
        ),
        made(
            "panel-wipe-1l",
            "14.00",
            1,
            "sundry",
            sundry("UNIT_MICROLITRE", 1_000_000),
        ),
        made(
            "pad-brush",
            "8.50",
            1,
            "tool",
            json!({ "kind": "TOOL_KIND_PAD_BRUSH" }),
        ),
    ]
}

/// What is received, in this order: the bench's, then the van's.
pub(super) fn kit() -> Vec<Value> {
    let came = |make: &str, count: i64| json!({ "make": make, "pieceCount": count });
    let in_van =
        |make: &str, count: i64| json!({ "make": make, "pieceCount": count, "place": "van-a" });
    let cost = |amount: &str| json!({ "amount": amount, "currencyCode": "EUR" });
    let bottle = |make: &str, tag: &str, place: &str, volume_ul: i64, paid: &str| {
        json!({
            "make": make, "tags": [tag], "place": place, "volumeUl": volume_ul, "landedCost": cost(paid),
        })
    };
    let towels =
        |place: &str| json!({ "make": "edgeless-towel", "towelCount": 24, "place": place });
    let paid = |make: &str, count: i64, each: &str| json!({ "make": make, "pieceCount": count, "landedCost": cost(each) });
    let (compound, polish) = ("coarse-compound-1l", "fine-polish-500ml");
    vec![
        came("orbital-150", 1),
        came("cordless-75", 1),
        came("spindle-30", 1),
        came("battery-75", 6),
        came("plate-125-m8", 1),
        came("plate-75-m8", 1),
        came("plate-20-m6", 1),
        came("coarse-foam-150", 8),
        came("fine-foam-150", 6),
        came("coarse-foam-80", 6),
        came("fine-foam-80", 4),
        came("pencil-foam-30", 6),
        bottle(compound, "B-01", "bench", 350_000, "14.00"),
        bottle(compound, "B-02", "bench", 1_000_000, "36.50"),
        bottle(polish, "B-04", "bench", 500_000, "27.00"),
        bottle(polish, "B-05", "bench", 500_000, "25.80"),
        towels("bench"),
        paid("nitrile-gloves", 1, "9.80"),
        paid("masking-tape", 4, "5.20"),
        paid("panel-wipe-1l", 2, "14.00"),
        came("pad-brush", 1),
        in_van("orbital-150", 1),
        in_van("plate-125-m8", 1),
        in_van("coarse-foam-150", 10),
        in_van("fine-foam-150", 6),
        bottle(compound, "B-03", "van-a", 500_000, "19.00"),
        bottle(polish, "B-06", "van-a", 500_000, "25.80"),
        towels("van-a"),
    ]
}

/// A saloon whose film was read everywhere, and an SUV.
pub(super) fn cars() -> Vec<Value> {
    let panels = [
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
        "front-bumper",
        "rear-bumper",
        "sill-left",
        "sill-right",
        "pillars-left",
        "pillars-right",
        "mirror-left",
        "mirror-right",
    ];
    let read = panels.map(|panel| json!({ "panel": panel, "filmUm": 120 }));
    vec![
        json!({ "car": "saloon", "class": "CAR_CLASS_MEDIUM_SALOON", "panels": read }),
        json!({ "car": "suv", "class": "CAR_CLASS_LARGE_SUV" }),
    ]
}

/// The two-step that three machines share, the one that a machine works alone, and a touch-up of both bumpers.
pub(super) fn routines() -> Vec<Value> {
    let (compound, polish) = ("coarse-compound-1l", "fine-polish-500ml");
    let share = |reach: &str, machine: &str, pad: &str, liquid: &str| json!({ "reach": reach, "machineMake": machine, "padMake": pad, "liquidMake": liquid });
    let step = |name: &str, pad: &str, liquid: &str, shares: Vec<Value>| {
        json!({
            "step": name, "machineMake": "orbital-150", "padMake": pad, "liquidMake": liquid, "shares": shares,
        })
    };
    let small = |pad: &str, liquid: &str| {
        vec![
            share("REACH_SPOT", "cordless-75", pad, liquid),
            share("REACH_PENCIL", "spindle-30", "pencil-foam-30", polish),
        ]
    };
    let sundries = json!([
        { "make": "nitrile-gloves", "perJobQuantity": 2 },
        { "make": "masking-tape", "perJobQuantity": 4_000, "perM2Quantity": 900 },
        { "make": "panel-wipe-1l", "perM2Quantity": 12_000 },
    ]);
    let cut = |shares| step("cut", "coarse-foam-150", compound, shares);
    let finish = |shares| step("finish", "fine-foam-150", polish, shares);
    let touch_up = json!({
        "step": "tidy", "machineMake": "cordless-75", "padMake": "fine-foam-80", "liquidMake": polish,
        "panels": ["front-bumper", "rear-bumper"],
    });
    vec![
        json!({
            "routine": "two-step", "name": "two-step", "towelMake": "edgeless-towel", "sundries": sundries,
            "steps": [cut(small("coarse-foam-80", compound)), finish(small("fine-foam-80", polish))],
        }),
        json!({
            "routine": "one-machine", "name": "two-step, one machine", "towelMake": "edgeless-towel",
            "steps": [cut(Vec::new()), finish(Vec::new())],
        }),
        json!({ "routine": "touch-up", "name": "touch-up", "towelMake": "edgeless-towel", "steps": [touch_up] }),
    ]
}

/// What the gauge read of the saloon that is followed, the evening before and after it, µm.
pub(super) const FILM_BEFORE: [(&str, [i64; 3]); 5] = [
    ("bonnet", [118, 120, 122]),
    ("roof", [116, 118, 117]),
    ("boot", [121, 119, 123]),
    ("front-door-left", [125, 122, 122]),
    ("front-wing-left", [119, 120, 121]),
];
pub(super) const FILM_AFTER: [(&str, [i64; 3]); 5] = [
    ("bonnet", [114, 117, 117]),
    ("roof", [114, 115, 116]),
    ("boot", [118, 118, 118]),
    ("front-door-left", [121, 120, 119]),
    ("front-wing-left", [117, 118, 119]),
];

/// A job of the month: its day of June, and what is said of it.
pub(super) struct Planned {
    pub(super) day: i64,
    pub(super) hour: i64,
    pub(super) job: &'static str,
    car: &'static str,
    routine: &'static str,
    place: &'static str,
    person: &'static str,
}

/// The jobs, in the order they are done. The last but one takes two days and two sets a section of its cut.
pub(super) const JOBS: [Planned; 11] = [
    bench(2, 8, "saloon-1", "saloon", "two-step"),
    van(3, "van-1"),
    bench(5, 8, "suv-1", "suv", "two-step"),
    bench(9, 8, "saloon-2", "saloon", "two-step"),
    van(11, "van-2"),
    bench(15, 8, "saloon-3", "saloon", "two-step"),
    bench(17, 8, "the-saloon", "saloon", "two-step"),
    bench(17, 20, "touch-up", "saloon", "touch-up"),
    bench(22, 8, "suv-2", "suv", "two-step"),
    bench(25, 8, "saloon-4", "saloon", "two-step"),
    van(30, "van-4"),
];

/// The van's job of the same day as the saloon that is followed.
pub(super) const BESIDE: Planned = van(17, "van-3");

const fn bench(
    day: i64,
    hour: i64,
    job: &'static str,
    car: &'static str,
    routine: &'static str,
) -> Planned {
    Planned {
        day,
        hour,
        job,
        car,
        routine,
        place: "bench",
        person: "bench hand",
    }
}

const fn van(day: i64, job: &'static str) -> Planned {
    Planned {
        day,
        hour: 8,
        job,
        car: "saloon",
        routine: "one-machine",
        place: "van-a",
        person: "van hand",
    }
}

impl Planned {
    /// The job as it is booked.
    pub(super) fn booking(&self) -> Value {
        let mut job = json!({
            "job": self.job, "car": self.car, "routine": self.routine, "place": self.place,
            "person": self.person, "startTime": moment(self.day, self.hour, 0),
        });
        if self.job == "saloon-4" {
            job["sets"] = json!([{ "step": "cut", "setCount": 2 }]);
            job["secondStartTime"] = json!(moment(self.day + 1, 8, 0));
        }
        json!({ "job": job })
    }
}

/// A moment of June.
pub(super) fn moment(day: i64, hour: i64, minute: i64) -> String {
    format!("2026-06-{day:02}T{hour:02}:{minute:02}:00Z")
}
