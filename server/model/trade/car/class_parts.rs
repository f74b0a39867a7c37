//! How the painted area of each class is divided among its panels.
//!
//! It serves default areas and the sharing out of a total. Basis of every row: derived, from sizes
//! from memory; a car's own measurements replace them.

use super::CarClass;
use crate::trade::panel::Panel;

/// One row of parts: a part is a hundredth of a square metre at the class's default size. Doors,
/// wings, quarters, sills, pillars and mirrors are for one side.
struct Row {
    bonnet: i64,
    roof: i64,
    boot: i64,
    bumpers: [i64; 2],
    doors: [i64; 2],
    wing: i64,
    quarter: i64,
    sill: i64,
    pillars: i64,
    mirror: i64,
}

/// A row from its figures in the order of the struct: singles, bumpers, doors, then one side.
const fn row(singles: [i64; 3], bumpers: [i64; 2], doors: [i64; 2], side: [i64; 5]) -> Row {
    let [bonnet, roof, boot] = singles;
    let [wing, quarter, sill, pillars, mirror] = side;
    Row {
        bonnet,
        roof,
        boot,
        bumpers,
        doors,
        wing,
        quarter,
        sill,
        pillars,
        mirror,
    }
}

/// Totals in m²: city 9.7, small hatch 10.7, medium hatch 11.4, medium saloon 12.2, large saloon
/// 13.2, estate 13.2, sports 9.2, medium SUV 13.8, large SUV 15.8, pickup 14.8, van 20.4. The sports
/// car and the van have no rear doors; the van's sides count as rear quarters.
const fn row_of(class: CarClass) -> Row {
    match class {
        CarClass::City => row([85, 130, 75], [85, 85], [80, 50], [38, 55, 14, 14, 4]),
        CarClass::SmallHatch => row([105, 140, 80], [92, 95], [78, 60], [44, 60, 17, 15, 5]),
        CarClass::MediumHatch => row([125, 145, 85], [100, 103], [78, 63], [48, 65, 18, 14, 5]),
        CarClass::MediumSaloon => row([142, 142, 103], [106, 111], [78, 65], [51, 78, 19, 12, 5]),
        CarClass::LargeSaloon => row([160, 150, 115], [112, 119], [84, 74], [55, 81, 20, 13, 5]),
        CarClass::Estate => row([142, 190, 100], [106, 110], [78, 68], [51, 98, 20, 16, 5]),
        CarClass::Sports => row([140, 75, 75], [105, 105], [85, 0], [45, 55, 12, 8, 5]),
        CarClass::MediumSuv => row([145, 180, 110], [112, 117], [90, 74], [56, 92, 20, 20, 6]),
        CarClass::LargeSuv => row([170, 210, 130], [122, 128], [98, 86], [64, 110, 23, 22, 7]),
        CarClass::Pickup => row([165, 140, 85], [115, 75], [92, 78], [66, 165, 24, 17, 8]),
        CarClass::Van => row([110, 420, 230], [105, 65], [110, 0], [45, 350, 22, 20, 8]),
    }
}

/// The part of one panel in a class's whole; nothing where the class has no such panel.
pub(super) const fn part(class: CarClass, panel: Panel) -> i64 {
    let row = row_of(class);
    let [front_bumper, rear_bumper] = row.bumpers;
    let [front_door, rear_door] = row.doors;
    match panel {
        Panel::Bonnet => row.bonnet,
        Panel::Roof => row.roof,
        Panel::Boot => row.boot,
        Panel::FrontDoorLeft | Panel::FrontDoorRight => front_door,
        Panel::RearDoorLeft | Panel::RearDoorRight => rear_door,
        Panel::FrontWingLeft | Panel::FrontWingRight => row.wing,
        Panel::RearQuarterLeft | Panel::RearQuarterRight => row.quarter,
        Panel::FrontBumper => front_bumper,
        Panel::RearBumper => rear_bumper,
        Panel::SillLeft | Panel::SillRight => row.sill,
        Panel::PillarsLeft | Panel::PillarsRight => row.pillars,
        Panel::MirrorLeft | Panel::MirrorRight => row.mirror,
    }
}
