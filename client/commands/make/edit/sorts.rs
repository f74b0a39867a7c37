//! Which options of `make edit` belong to which sort of make.
//!
//! It serves `edit`: each function takes the options of its sort out of those given, so that what is
//! left over belongs to another sort and can be refused by its name.

use fettlebook_contract::v1::{
    LiquidFigures, MachineFigures, PadFigures, PlateFigures, SundryFigures, TowelFigures,
};

use super::{Change, Edit};

impl Edit {
    pub(super) fn pad(&mut self, change: &mut Change, pad: &mut PadFigures) {
        let material = self.material.take().map(Into::into);
        change.put("pad.material", material, &mut pad.material);
        let grade = self.grade.take().map(Into::into);
        change.put("pad.grade", grade, &mut pad.grade);
        change.put("pad.face_mm", self.face.take(), &mut pad.face_mm);
        change.put_optional(
            "pad.rated_work_sections",
            self.rated_work.take(),
            &mut pad.rated_work_sections,
        );
        change.put_optional(
            "pad.rated_wash_count",
            self.rated_washes.take(),
            &mut pad.rated_wash_count,
        );
        change.put_optional(
            "pad.load_sections",
            self.load.take(),
            &mut pad.load_sections,
        );
        change.put_optional(
            "pad.typical_life_sections",
            self.typical_life.take(),
            &mut pad.typical_life_sections,
        );
        change.put_optional(
            "pad.least_life_sections",
            self.least_life.take(),
            &mut pad.least_life_sections,
        );
        change.put_optional("pad.dry_time_s", self.dry.take(), &mut pad.dry_time_s);
    }

    pub(super) fn plate(&mut self, change: &mut Change, plate: &mut PlateFigures) {
        change.put(
            "plate.diameter_mm",
            self.diameter.take(),
            &mut plate.diameter_mm,
        );
        change.put("plate.thread", self.thread.take(), &mut plate.thread);
        change.put_optional(
            "plate.rated_speed_per_min",
            self.rated_speed.take(),
            &mut plate.rated_speed_per_min,
        );
        change.put_optional(
            "plate.rated_run_h",
            self.rated_run.take(),
            &mut plate.rated_run_h,
        );
        change.put_optional(
            "plate.rated_change_count",
            self.rated_changes.take(),
            &mut plate.rated_change_count,
        );
    }

    pub(super) fn machine(&mut self, change: &mut Change, machine: &mut MachineFigures) {
        let action = self.action.take().map(Into::into);
        change.put("machine.action", action, &mut machine.action);
        change.put_optional("machine.throw_mm", self.throw.take(), &mut machine.throw_mm);
        change.put("machine.thread", self.thread.take(), &mut machine.thread);
        change.put(
            "machine.max_speed_per_min",
            self.max_speed.take(),
            &mut machine.max_speed_per_min,
        );
        change.put_optional(
            "machine.work_speed_per_min",
            self.work_speed.take(),
            &mut machine.work_speed_per_min,
        );
        change.put_optional(
            "machine.vibration_mm_per_s2",
            self.vibration.take(),
            &mut machine.vibration_mm_per_s2,
        );
        change.put(
            "machine.vibration_measured",
            self.vibration_measured.take(),
            &mut machine.vibration_measured,
        );
        change.put_optional("machine.noise_db", self.noise.take(), &mut machine.noise_db);
        change.put("machine.spot", self.spot.take(), &mut machine.spot);
    }

    pub(super) fn towel(&mut self, change: &mut Change, towel: &mut TowelFigures) {
        change.put(
            "towel.weight_g_per_m2",
            self.weight.take(),
            &mut towel.weight_g_per_m2,
        );
        change.put_optional(
            "towel.inspect_wash_count",
            self.inspect_from.take(),
            &mut towel.inspect_wash_count,
        );
        change.put_optional(
            "towel.demote_wash_count",
            self.demote_from.take(),
            &mut towel.demote_wash_count,
        );
        change.put_optional("towel.dry_time_s", self.dry.take(), &mut towel.dry_time_s);
    }

    pub(super) fn liquid(&mut self, change: &mut Change, liquid: &mut LiquidFigures) {
        let grade = self.grade.take().map(Into::into);
        change.put("liquid.grade", grade, &mut liquid.grade);
        change.put(
            "liquid.bottle_ul",
            self.bottle.take(),
            &mut liquid.bottle_ul,
        );
        change.put_optional(
            "liquid.density_mg_per_ml",
            self.density.take(),
            &mut liquid.density_mg_per_ml,
        );
        change.put_optional("liquid.tare_mg", self.tare.take(), &mut liquid.tare_mg);
        change.put_optional(
            "liquid.prime_dot_count",
            self.prime.take(),
            &mut liquid.prime_dot_count,
        );
        change.put_optional(
            "liquid.refresh_dot_count",
            self.refresh.take(),
            &mut liquid.refresh_dot_count,
        );
    }

    pub(super) fn sundry(&mut self, change: &mut Change, sundry: &mut SundryFigures) {
        let (quantity, unit) = self.holds.take().map_or((None, None), |holds| {
            (Some(holds.quantity), Some(holds.unit.into()))
        });
        change.put("sundry.pack_quantity", quantity, &mut sundry.pack_quantity);
        change.put("sundry.unit", unit, &mut sundry.unit);
    }

    /// The first option that no sort took.
    pub(super) fn left(&self) -> Option<&'static str> {
        [
            ("--grade", self.grade.is_some()),
            ("--dry", self.dry.is_some()),
            ("--material", self.material.is_some()),
            ("--face", self.face.is_some()),
            ("--rated-work", self.rated_work.is_some()),
            ("--rated-washes", self.rated_washes.is_some()),
            ("--load", self.load.is_some()),
            ("--typical-life", self.typical_life.is_some()),
            ("--least-life", self.least_life.is_some()),
            ("--thread", self.thread.is_some()),
            ("--diameter", self.diameter.is_some()),
            ("--rated-speed", self.rated_speed.is_some()),
            ("--rated-run", self.rated_run.is_some()),
            ("--rated-changes", self.rated_changes.is_some()),
            ("--action", self.action.is_some()),
            ("--throw", self.throw.is_some()),
            ("--max-speed", self.max_speed.is_some()),
            ("--work-speed", self.work_speed.is_some()),
            ("--vibration", self.vibration.is_some()),
            ("--vibration-measured", self.vibration_measured.is_some()),
            ("--noise", self.noise.is_some()),
            ("--spot", self.spot.is_some()),
            ("--weight", self.weight.is_some()),
            ("--inspect-from", self.inspect_from.is_some()),
            ("--demote-from", self.demote_from.is_some()),
            ("--bottle", self.bottle.is_some()),
            ("--density", self.density.is_some()),
            ("--tare", self.tare.is_some()),
            ("--prime", self.prime.is_some()),
            ("--refresh", self.refresh.is_some()),
            ("--holds", self.holds.is_some()),
        ]
        .into_iter()
        .find_map(|(option, given)| given.then_some(option))
    }
}
