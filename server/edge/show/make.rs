//! Makes on the wire.
//!
//! It serves reading makes, and editing, which starts from what is there.

use fettlebook_contract::v1;
use fettlebook_contract::v1::make::Figures as Shown;
use fettlebook_model::make::{Figures, MachineFigures, Make};
use fettlebook_model::policy::Policy;

use super::money::money;
use crate::edge::prices::Prices;
use crate::edge::{etag, words};

/// A make, with its price where that is shown, and what today's policy gives for figures that are from it.
pub(in crate::edge) fn make(make: &Make, prices: Prices, policy: &Policy) -> v1::Make {
    let mut shown = v1::Make {
        etag: String::new(),
        make: make.id.to_string(),
        name: make.name.clone(),
        price: prices.of(make.price).map(money),
        pack_count: make.pack_count,
        ghs_codes: make.ghs.iter().map(ToString::to_string).collect(),
        note: make.note.clone(),
        figures: Some(figures(&make.figures)),
        policy_figures: Vec::new(),
    };
    // A change of the policy is none of the make.
    shown.etag = etag::of(&shown);
    let sort = sort(&make.figures);
    let from_policy = make.from_policy(policy).into_iter();
    let told = from_policy.map(|from| v1::PolicyFigure {
        figure: format!("{sort}.{}", from.figure.as_str()),
        key: from.key.to_string(),
        value: from.value,
        policy_value: from.policy_value,
    });
    shown.policy_figures = told.collect();
    shown
}

/// The contract's field of the figures of a sort.
pub(super) const fn sort(figures: &Figures) -> &'static str {
    match figures {
        Figures::Pad(_) => "pad",
        Figures::Plate(_) => "plate",
        Figures::Machine(_) => "machine",
        Figures::Towel(_) => "towel",
        Figures::Liquid(_) => "liquid",
        Figures::Sundry(_) => "sundry",
        Figures::Tool(_) => "tool",
        Figures::Battery(_) => "battery",
    }
}

fn figures(figures: &Figures) -> Shown {
    match figures {
        Figures::Pad(pad) => Shown::Pad(v1::PadFigures {
            material: words::material_word(pad.material),
            grade: words::grade_word(pad.grade),
            face_mm: pad.face_mm.mm(),
            rated_work_sections: pad.rated_work_sections,
            rated_wash_count: pad.rated_wash_count,
            load_sections: pad.load_sections,
            dry_time_s: pad.dry_time_s.map(|time| time.s()),
            typical_life_sections: pad.typical_life_sections,
            least_life_sections: pad.least_life_sections,
        }),
        Figures::Plate(plate) => Shown::Plate(v1::PlateFigures {
            diameter_mm: plate.diameter_mm.mm(),
            thread: plate.thread.to_string(),
            rated_speed_per_min: plate.rated_speed_per_min,
            rated_run_h: plate.rated_run_h,
            rated_change_count: plate.rated_change_count,
        }),
        Figures::Machine(figures) => Shown::Machine(machine(figures)),
        Figures::Towel(towel) => Shown::Towel(v1::TowelFigures {
            weight_g_per_m2: towel.weight_g_per_m2,
            inspect_wash_count: towel.inspect_wash_count,
            demote_wash_count: towel.demote_wash_count,
            dry_time_s: towel.dry_time_s.map(|time| time.s()),
        }),
        Figures::Liquid(liquid) => Shown::Liquid(v1::LiquidFigures {
            grade: words::grade_word(liquid.grade),
            bottle_ul: liquid.bottle_ul.ul(),
            density_mg_per_ml: liquid.density_mg_per_ml,
            tare_mg: liquid.tare_mg.map(|mass| mass.mg()),
            prime_dot_count: liquid.prime_dot_count,
            refresh_dot_count: liquid.refresh_dot_count,
        }),
        Figures::Sundry(sundry) => Shown::Sundry(v1::SundryFigures {
            unit: words::unit_word(sundry.unit),
            pack_quantity: sundry.pack_quantity,
        }),
        Figures::Tool(tool) => Shown::Tool(v1::ToolFigures {
            kind: words::tool_kind_word(tool.kind),
        }),
        Figures::Battery(battery) => Shown::Battery(v1::BatteryFigures {
            machine_makes: battery.machines.iter().map(ToString::to_string).collect(),
            run_time_s: battery.run_time_s.s(),
            charge_time_s: battery.charge_time_s.map(|time| time.s()),
            rated_charge_count: battery.rated_charge_count,
        }),
    }
}

fn machine(machine: &MachineFigures) -> v1::MachineFigures {
    let throw_mm = machine.throw_mm.mm();
    v1::MachineFigures {
        action: words::action_word(machine.action),
        throw_mm: (throw_mm != 0).then_some(throw_mm),
        thread: machine.thread.to_string(),
        max_speed_per_min: machine.max_speed_per_min,
        work_speed_per_min: machine.work_speed_per_min,
        vibration_mm_per_s2: machine.vibration_mm_per_s2,
        vibration_measured: machine.vibration_measured,
        noise_db: machine.noise_db,
        spot: machine.spot,
        cordless: machine.cordless,
    }
}
