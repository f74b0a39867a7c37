//! Every figure of the trade that a book may set for itself, with its default and where it is from.
//!
//! The table serves the policy, its listing and its help. Key names are stored in books: they are
//! never changed or given another meaning.

use std::ops::RangeInclusive;

use serde::{Deserialize, Serialize};

use crate::ground::word::word_enum;

word_enum! {
    /// Where a default comes from.
    Basis is "a basis" {
        /// A published standard or paper.
        Standard = "standard",
        /// Geometry or arithmetic.
        Geometry = "geometry",
        /// Common practice, without a source.
        CommonPractice = "common-practice",
        /// From memory.
        Memory = "memory",
        /// Derived from the others.
        Derived = "derived",
    }
}

/// The ten keys that a shop looks at first, the one that says most first. Basis: ours.
const FIRST: [PolicyKey; 10] = [
    PolicyKey::CarryTargetPermille,
    PolicyKey::DotUl,
    PolicyKey::BigSideMm,
    PolicyKey::JobTimePermille,
    PolicyKey::SparePadsCount,
    PolicyKey::DryThinFoamS,
    PolicyKey::TowelInspectWashes,
    PolicyKey::FilmOrdinaryUm,
    PolicyKey::MarkupPermille,
    PolicyKey::TaxPermille,
];

/// One row of the table.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PolicySpec {
    /// Stable name of the key.
    pub name: &'static str,
    /// What it belongs to, for people.
    pub group: &'static str,
    /// Value where the book sets none.
    pub default: i64,
    /// Unit, for people.
    pub unit: &'static str,
    /// Where the default comes from.
    pub basis: Basis,
    /// Values that are accepted.
    pub range: RangeInclusive<i64>,
    /// What it means, in one line.
    pub meaning: &'static str,
}

macro_rules! policy_keys {
    ($( $group:literal {
        $( $variant:ident, $name:literal, $default:literal $unit:literal, $basis:ident, $range:expr, $meaning:literal; )+
    } )+) => {
        /// A figure of the trade that a book may set for itself.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
        #[serde(try_from = "String", into = "String")]
        pub enum PolicyKey {
            $( $( #[doc = $meaning] $variant, )+ )+
        }

        impl PolicyKey {
            /// Every key, in the order they are listed to people.
            pub const ALL: &'static [Self] = &[$( $( Self::$variant ),+ ),+];

            /// The row of this key.
            #[must_use]
            pub const fn spec(self) -> PolicySpec {
                match self {
                    $( $( Self::$variant => PolicySpec {
                        name: $name,
                        group: $group,
                        default: $default,
                        unit: $unit,
                        basis: Basis::$basis,
                        range: $range,
                        meaning: $meaning,
                    }, )+ )+
                }
            }
        }
    };
}

policy_keys! {
    "sections and strokes" {
        BigSideMm, "big_side_mm", 450 "mm", CommonPractice, 200..=900, "Side of a section worked with a big machine.";
        SpotSideMm, "spot_side_mm", 300 "mm", CommonPractice, 100..=600, "Side of a section worked with a spot machine.";
        OverlapPermille, "overlap_permille", 500 "thousandths", CommonPractice, 0..=900, "Part of the pad's width that the next stroke covers again.";
        PassesCount, "passes_count", 4 "passes", CommonPractice, 1..=20, "Passes in one set: up and down, both ways, and across, both ways.";
        ArmSpeedMmPerS, "arm_speed_mm_per_s", 0 "mm/s", CommonPractice, 0..=300, "Speed of the arm where a step states none; 0 goes by the machine and the grade.";
        ArmSpeedCoarseMmPerS, "arm_speed_coarse_mm_per_s", 50 "mm/s", CommonPractice, 5..=300, "Speed of the arm on coarse work with a big machine.";
        ArmSpeedMediumMmPerS, "arm_speed_medium_mm_per_s", 50 "mm/s", CommonPractice, 5..=300, "Speed of the arm on medium work with a big machine.";
        ArmSpeedFineMmPerS, "arm_speed_fine_mm_per_s", 75 "mm/s", CommonPractice, 5..=300, "Speed of the arm on fine work with a big machine.";
        ArmSpeedSpotMmPerS, "arm_speed_spot_mm_per_s", 80 "mm/s", Memory, 5..=300, "Speed of the arm with a spot machine, whatever the grade.";
        BlendPermille, "blend_permille", 100 "thousandths", CommonPractice, 0..=500, "Part of a section that its neighbours work again.";
        ContourFaceMm, "contour_face_mm", 40 "mm", Derived, 10..=80, "Widest pad that follows contours instead of working sections.";
        HandMinutesPerM2, "hand_minutes_per_m2", 30 "min", Memory, 1..=600, "Time by hand for a square metre: half of one in a quarter of an hour.";
        CrownPermille, "crown_permille", 1050 "thousandths", Memory, 1000..=1300, "Surface of a curved panel against its flat outline.";
    }
    "dots and densities" {
        DotUl, "dot_ul", 250 "µL", Standard, 150..=500, "Volume of one dot; weigh 20 dots to find yours.";
        DensityPolishMgPerMl, "density_polish_mg_per_ml", 1050 "mg/mL", Derived, 950..=1250, "Density of a polish where its make states none.";
        DensityCompoundMgPerMl, "density_compound_mg_per_ml", 1100 "mg/mL", Derived, 950..=1250, "Density of a compound where its make states none.";
    }
    "pads in a job" {
        SparePadsCount, "spare_pads_count", 0 "pads", CommonPractice, 0..=10, "Spare pads taken along for a step whatever its chance; more go along where they raise it towards the target.";
        LoadCoarseFoamSections, "load_coarse_foam_sections", 18 "sections", Derived, 1..=200, "Sections a coarse foam pad works before it is changed.";
        LoadMediumFoamSections, "load_medium_foam_sections", 21 "sections", Derived, 1..=200, "Sections a medium foam pad works before it is changed.";
        LoadFineFoamSections, "load_fine_foam_sections", 25 "sections", Derived, 1..=200, "Sections a fine foam pad works before it is changed.";
        LoadMicrofibreSections, "load_microfibre_sections", 12 "sections", Derived, 1..=200, "Sections a microfibre pad works before it is changed.";
        LoadApplicatorSections, "load_applicator_sections", 25 "sections", Memory, 1..=200, "Sections an applicator works by hand before it is changed.";
        LoadWoolSections, "load_wool_sections", 15 "sections", Memory, 1..=200, "Sections a wool pad works before it is changed.";
        LoadCleanedPanelsPermille, "load_cleaned_between_panels_permille", 1_500 "thousandths", CommonPractice, 1_000..=10_000, "Sections a pad works that is cleaned with brush or air between panels, against those of one that is not.";
        LoadCleanedSectionsPermille, "load_cleaned_after_sections_permille", 2_500 "thousandths", CommonPractice, 1_000..=10_000, "Sections a pad works that is cleaned after each section, against those of one that is not; shops differ widely.";
    }
    "ratings of pads" {
        RatingCoarseFoamSections, "rating_coarse_foam_sections", 185 "reference sections", Memory, 1..=10_000, "Work a coarse foam pad is rated for.";
        RatingCoarseFoamWashes, "rating_coarse_foam_washes", 28 "washes", Memory, 1..=1_000, "Washes a coarse foam pad is rated for.";
        RatingMediumFoamSections, "rating_medium_foam_sections", 168 "reference sections", Memory, 1..=10_000, "Work a medium foam pad is rated for.";
        RatingMediumFoamWashes, "rating_medium_foam_washes", 35 "washes", Memory, 1..=1_000, "Washes a medium foam pad is rated for.";
        RatingFineFoamSections, "rating_fine_foam_sections", 185 "reference sections", Memory, 1..=10_000, "Work a fine foam pad is rated for.";
        RatingFineFoamWashes, "rating_fine_foam_washes", 50 "washes", Memory, 1..=1_000, "Washes a fine foam pad is rated for.";
        RatingMicrofibreSections, "rating_microfibre_sections", 80 "reference sections", Memory, 1..=10_000, "Work a microfibre pad is rated for.";
        RatingMicrofibreWashes, "rating_microfibre_washes", 14 "washes", Memory, 1..=1_000, "Washes a microfibre pad is rated for.";
        RatingWoolSections, "rating_wool_sections", 210 "reference sections", Memory, 1..=10_000, "Work a wool pad is rated for.";
        RatingWoolWashes, "rating_wool_washes", 21 "washes", Memory, 1..=1_000, "Washes a wool pad is rated for.";
        RatingApplicatorSections, "rating_applicator_sections", 100 "reference sections", Memory, 1..=10_000, "Work an applicator is rated for; by hand it does none that is counted, so its washes decide.";
        RatingApplicatorWashes, "rating_applicator_washes", 25 "washes", Memory, 1..=1_000, "Washes an applicator is rated for.";
    }
    "drying" {
        DryThinFoamS, "dry_thin_foam_s", 86_400 "s", CommonPractice, 3_600..=1_209_600, "Drying of a thin foam pad after a wash.";
        DryThickFoamS, "dry_thick_foam_s", 172_800 "s", CommonPractice, 3_600..=1_209_600, "Drying of a thick foam pad after a wash.";
        DryWoolS, "dry_wool_s", 172_800 "s", CommonPractice, 3_600..=1_209_600, "Drying of a wool pad after a wash.";
        DryMicrofibreS, "dry_microfibre_s", 172_800 "s", CommonPractice, 3_600..=1_209_600, "Drying of a microfibre pad after a wash.";
        DryApplicatorS, "dry_applicator_s", 86_400 "s", Memory, 3_600..=1_209_600, "Drying of an applicator after a wash.";
        DryTowelS, "dry_towel_s", 86_400 "s", Memory, 1_800..=1_209_600, "Drying of towels after a wash.";
    }
    "press and wear" {
        ForceLightMn, "force_light_mn", 15_000 "mN", Memory, 1_000..=200_000, "Force of a light press on a 150 mm pad.";
        ForceModerateMn, "force_moderate_mn", 40_000 "mN", Memory, 1_000..=200_000, "Force of a moderate press on a 150 mm pad.";
        ForceFirmMn, "force_firm_mn", 80_000 "mN", Memory, 1_000..=200_000, "Force of a firm press on a 150 mm pad.";
        TiredPermille, "tired_permille", 600 "thousandths", CommonPractice, 100..=2_000, "Damage from which an item is tired.";
        SpentPermille, "spent_permille", 1_000 "thousandths", Derived, 200..=5_000, "Damage from which an item is spent.";
    }
    "length of a job" {
        JobTimePermille, "job_time_permille", 2_000 "thousandths", Memory, 1_000..=10_000, "Length of a job against the time its machines run: what is done beside them.";
        BringTimeS, "bring_time_s", 1_800 "s", Memory, 0..=86_400, "Time it takes to bring kit from another place before a van leaves or a job starts.";
    }
    "towels" {
        TowelFolds, "towel_folds", 2 "folds", CommonPractice, 0..=5, "Times a towel is folded: twice gives 8 clean sides, half of them in a wet or solvent use.";
        TowelSideMm2, "towel_side_mm2", 510_000 "mm²", CommonPractice, 50_000..=5_000_000, "Area that a side of a towel wipes in a step before it is turned.";
        CellsPerSection, "cells_per_section", 0 "sides", CommonPractice, 0..=2, "Clean towel sides used on one section; 0 goes by the area a side wipes.";
        CellsPerTowel, "cells_per_towel", 0 "sides", Geometry, 0..=64, "Clean sides of a towel; 0 goes by its folds.";
        TowelInspectWashes, "towel_inspect_washes", 25 "washes", CommonPractice, 1..=1_000, "Washes from which towels are looked at each time.";
        TowelDemoteWashes, "towel_demote_washes", 50 "washes", CommonPractice, 1..=1_000, "Washes at which towels go down a grade.";
    }
    "batteries" {
        BatteryReservePermille, "battery_reserve_permille", 1_100 "thousandths", Memory, 1_000..=3_000, "Charge that is planned for a job against the time its machines run on batteries.";
        BatteryChargeTimeS, "battery_charge_time_s", 3_600 "s", Memory, 300..=86_400, "Time a charger takes to fill a battery.";
        BatteryRatedCharges, "battery_rated_charges", 500 "charges", Memory, 1..=10_000, "Charges a battery is rated for.";
        BatteryKeepsPermille, "battery_keeps_permille", 800 "thousandths", Memory, 100..=1_000, "What is left of a new battery's charge after its rated charges.";
    }
    "plates" {
        PlateRatedHours, "plate_rated_hours", 300 "h", Memory, 1..=10_000, "Running hours a plate is rated for.";
        PlateRatedChanges, "plate_rated_changes", 1_000 "changes", Memory, 1..=100_000, "Pad changes a plate is rated for.";
        MarginLeastMm, "margin_least_mm", 0 "mm", CommonPractice, 0..=100, "Least by which a pad is wider than its plate.";
        MarginCloseMm, "margin_close_mm", 4 "mm", CommonPractice, 0..=100, "Margin of pad over plate below which the plate's edge can reach the paint, and is watched.";
        MarginIdealLeastMm, "margin_ideal_least_mm", 5 "mm", CommonPractice, 0..=100, "Least usual margin of pad over plate.";
        MarginIdealMostMm, "margin_ideal_most_mm", 25 "mm", CommonPractice, 0..=100, "Largest usual margin of pad over plate.";
        MarginMostMm, "margin_most_mm", 40 "mm", CommonPractice, 0..=100, "Most by which a pad is wider than its plate.";
    }
    "paint film" {
        FilmOrdinaryUm, "film_ordinary_um", 100 "µm", CommonPractice, 40..=400, "Lowest film reading for ordinary care.";
        FilmCautionUm, "film_caution_um", 90 "µm", CommonPractice, 40..=400, "Lowest film reading for work with caution.";
        FilmFineOnlyUm, "film_fine_only_um", 80 "µm", CommonPractice, 40..=400, "Lowest film reading for fine liquids by machine.";
        FilmByHandUm, "film_by_hand_um", 70 "µm", CommonPractice, 40..=400, "Lowest film reading for the finest liquid by hand; below it nothing abrasive.";
    }
    "lives and chances" {
        ShapeFoamPermille, "shape_foam_permille", 3_000 "thousandths", Memory, 500..=12_000, "Shape of the lives of foam pads until enough have worn out here.";
        ShapeMicrofibrePermille, "shape_microfibre_permille", 2_000 "thousandths", Memory, 500..=12_000, "Shape of the lives of microfibre pads until enough have worn out here.";
        ShapeWoolPermille, "shape_wool_permille", 2_000 "thousandths", Memory, 500..=12_000, "Shape of the lives of wool pads until enough have worn out here.";
        ShapeFromFailures, "shape_from_failures", 10 "pads", Memory, 3..=1_000, "Worn-out pads of a make from which the shape is fitted to them.";
        LivesHalvePads, "lives_halve_pads", 25 "pads", Memory, 1..=10_000, "Pads of a make put to work after one by which that one's life counts half.";
        CarryTargetPermille, "carry_target_permille", 950 "thousandths", Memory, 500..=999, "Carry chance that a job should have.";
        SeverityLogSdPermille, "severity_log_sd_permille", 300 "thousandths", Memory, 0..=600, "Spread of how hard a job is on all its pads at once, as the logarithm's standard deviation.";
    }
    "real use of liquids" {
        UseRatioSdPermille, "use_ratio_sd_permille", 150 "thousandths", Memory, 20..=1_000, "Spread of a shop's real use about its plan, of a liquid or of minutes, before any weigh-in or log.";
        UseBeliefJobs, "use_belief_jobs", 3 "jobs", Memory, 1..=100, "Jobs of weigh-ins that count as much as the plan, until there are enough of them to tell.";
        UseDataJobs, "use_data_jobs", 5 "weigh-ins", Memory, 3..=100, "Weigh-ins of a liquid from which their own spread says how much they count.";
    }
    "ordering" {
        HandlingDays, "handling_days", 1 "days", Memory, 0..=30, "Days between a delivery and its kit being ready for a job.";
        LeadTrustDeliveries, "lead_trust_deliveries", 3 "deliveries", Memory, 1..=100, "Deliveries that count as much as what a supplier says of its lead time.";
        LeadSdMilliDays, "lead_sd_milli_days", 1_000 "thousandths of a day", Memory, 50..=30_000, "Spread of a lead time about what the supplier says, before any delivery.";
        LeadTargetPermille, "lead_target_permille", 900 "thousandths", Memory, 500..=999, "Probability with which a delivery comes within the days planned with.";
        ReviewDays, "review_days", 7 "days", Memory, 1..=90, "Days between two looks at what to order.";
        DemandWeeks, "demand_weeks", 12 "weeks", Memory, 2..=104, "Weeks of done jobs that say how many come unbooked.";
        UnbookedFromDays, "unbooked_from_days", 56 "days", Memory, 0..=3_650, "Days since the first job done from which kit is kept for jobs that are not booked.";
        UnbookedFromJobs, "unbooked_from_jobs", 8 "jobs", Memory, 0..=1_000, "Jobs done from which kit is kept for jobs that are not booked.";
        UnbookedJobsMilli, "unbooked_jobs_milli", 0 "thousandths a week", Memory, 0..=100_000, "Jobs of a routine that come unbooked in a week, before any were done.";
        KitTargetPermille, "kit_target_permille", 990 "thousandths", Memory, 500..=999, "Probability that the kept kit lasts until the next delivery.";
        ShelfLifeDays, "shelf_life_days", 730 "days", Memory, 30..=3_650, "Days a new bottle keeps; no more is ordered than is used in that time.";
        HoldingPermille, "holding_permille", 250 "thousandths", CommonPractice, 0..=1_000, "Yearly cost of holding stock against its price.";
    }
    "costs and quotes" {
        StockByAverage, "stock_by_average", 0 "0 or 1", Standard, 0..=1, "How stock is costed: 0 by FIFO layers, 1 by moving average (IAS 2).";
        MarkupPermille, "markup_permille", 300 "thousandths", Memory, 0..=10_000, "Markup on cost in a quote that names neither markup nor margin.";
        TaxPermille, "tax_permille", 0 "thousandths", Memory, 0..=1_000, "Tax rate of a quote that names none; yours is in your local rules. Setting it takes tax_milli_percent back.";
        TaxMilliPercent, "tax_milli_percent", 0 "thousandths of a per cent", Memory, 0..=100_000, "The same rate to three decimals of a per cent: 7250 is 7.25 %. Setting it takes tax_permille back.";
        LabourRateMilli, "labour_rate_milli", 0 "thousandths an hour", Memory, 0..=10_000_000, "Net price of an hour by machine or by hand, thousandths of the book's currency; 0 prices no hours.";
        QuoteValidDays, "quote_valid_days", 14 "days", CommonPractice, 1..=365, "Days a quote holds.";
    }
    "what a wash costs" {
        WashEnergyWh, "wash_energy_wh", 900 "Wh", Memory, 0..=20_000, "Energy of a load of towels.";
        WashWaterMl, "wash_water_ml", 55_000 "mL", Memory, 0..=1_000_000, "Water of a load of towels.";
        WashDetergentMl, "wash_detergent_ml", 60 "mL", Memory, 0..=2_000, "Detergent of a load of towels.";
        EnergyPriceMilli, "energy_price_milli", 300 "thousandths a kWh", Memory, 0..=100_000, "Price of a kilowatt hour, thousandths of the book's currency.";
        WaterPriceMilli, "water_price_milli", 4_000 "thousandths a m³", Memory, 0..=1_000_000, "Price of a cubic metre of water and its drain, thousandths of the book's currency.";
        DetergentPriceMilli, "detergent_price_milli", 4_000 "thousandths a L", Memory, 0..=1_000_000, "Price of a litre of detergent, thousandths of the book's currency.";
        TowelsPerLoad, "towels_per_load", 20 "towels", Memory, 1..=500, "Towels in a load.";
    }
    "bottles" {
        ExpiryNoticeDays, "expiry_notice_days", 14 "days", Memory, 0..=365, "Days before its date from which a bottle is watched.";
        OpenedKeepsDays, "opened_keeps_days", 540 "days", Memory, 1..=3_650, "Days an opened bottle without a date keeps; after that it is watched.";
        HeelPermille, "heel_permille", 30 "thousandths", CommonPractice, 0..=300, "Last part of a bottle of its size, its heel, that is not planned with.";
    }
}

impl PolicyKey {
    /// Where it stands among the ten that a shop looks at first, from 1; `None` of all others.
    #[must_use]
    pub fn rank(self) -> Option<usize> {
        let at = FIRST.iter().position(|key| *key == self)?;
        at.checked_add(1)
    }
}
