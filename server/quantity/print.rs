//! How quantities are printed for people: few figures, one unit, no trailing zeros.
//!
//! It serves tables and sentences. What is printed rounds to what a person can act on, so stored
//! records and computations must take the integer value instead.

use std::fmt;

use crate::units::{Area, Count, Length, Mass, Seconds, Thickness, Volume};

/// `value` / `per` with at most `places` decimals, half away from zero, trailing zeros removed.
fn decimal(value: u64, per: u64, places: u32) -> String {
    let scale = 10_u128.saturating_pow(places);
    let per = u128::from(per.max(1));
    let rounded = (u128::from(value) * scale + per / 2) / per;
    let whole = rounded / scale;
    let width = usize::try_from(places).unwrap_or_default();
    let fraction = format!("{:0width$}", rounded % scale);
    match fraction.trim_end_matches('0') {
        "" => whole.to_string(),
        shown => format!("{whole}.{shown}"),
    }
}

/// A quantity with its sign. Sentences are full of them: one that is not padded is written without a string of its
/// own.
fn signed(f: &mut fmt::Formatter<'_>, value: i64, shown: fmt::Arguments<'_>) -> fmt::Result {
    let sign = if value < 0 { "-" } else { "" };
    if f.width().is_none() && f.precision().is_none() {
        f.write_str(sign)?;
        return f.write_fmt(shown);
    }
    f.pad(&format!("{sign}{shown}"))
}

/// A quantity in thousandths, ones or thousands of its everyday unit.
fn in_thousands(f: &mut fmt::Formatter<'_>, value: i64, units: [&str; 3]) -> fmt::Result {
    let [small, middle, large] = units;
    match value.unsigned_abs() {
        0 => signed(f, value, format_args!("0 {middle}")),
        few @ 1..1_000 => signed(f, value, format_args!("{few} {small}")),
        some @ 1_000..999_950 => {
            let some = decimal(some, 1_000, 1);
            signed(f, value, format_args!("{some} {middle}"))
        }
        many => {
            let many = decimal(many, 1_000_000, 2);
            signed(f, value, format_args!("{many} {large}"))
        }
    }
}

impl fmt::Display for Volume {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        in_thousands(f, self.ul(), ["µL", "mL", "L"])
    }
}

impl fmt::Display for Mass {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        in_thousands(f, self.mg(), ["mg", "g", "kg"])
    }
}

impl fmt::Display for Length {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let shown = match self.mm().unsigned_abs() {
            mm @ 0..10_000 => format!("{mm} mm"),
            mm => format!("{} m", decimal(mm, 1_000, 3)),
        };
        signed(f, self.mm(), format_args!("{shown}"))
    }
}

impl fmt::Display for Thickness {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&format!("{} µm", self.um()))
    }
}

impl fmt::Display for Area {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let shown = match self.mm2().unsigned_abs() {
            0 => "0 m²".to_owned(),
            mm2 @ 1..1_000 => format!("{} cm²", decimal(mm2, 100, 2)),
            mm2 @ 1_000..99_995 => format!("{} cm²", decimal(mm2, 100, 1)),
            mm2 @ 99_995..10_000_000 => format!("{} m²", decimal(mm2, 1_000_000, 2)),
            mm2 => format!("{} m²", decimal(mm2, 1_000_000, 1)),
        };
        signed(f, self.mm2(), format_args!("{shown}"))
    }
}

impl fmt::Display for Seconds {
    /// Below an hour to the second, below three days to the minute, above to the hour.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let s = self.s().unsigned_abs();
        let minutes = s / 60 + u64::from(s % 60 >= 30);
        let hours = s / 3_600 + u64::from(s % 3_600 >= 1_800);
        let (large, small) = if s < 3_600 {
            ((s / 60, "min", "min"), (s % 60, "s"))
        } else if s < 3 * 86_400 {
            ((minutes / 60, "h", "h"), (minutes % 60, "min"))
        } else {
            ((hours / 24, "day", "days"), (hours % 24, "h"))
        };
        two_parts(f, self.s(), large, small)
    }
}

/// The larger part with its unit for one and for several, then the smaller; a zero part is left out.
fn two_parts(
    f: &mut fmt::Formatter<'_>,
    value: i64,
    (large, one, several): (u64, &str, &str),
    (small, small_unit): (u64, &str),
) -> fmt::Result {
    let large_unit = if large == 1 { one } else { several };
    match (large, small) {
        (0, _) => signed(f, value, format_args!("{small} {small_unit}")),
        (_, 0) => signed(f, value, format_args!("{large} {large_unit}")),
        _ => signed(
            f,
            value,
            format_args!("{large} {large_unit} {small} {small_unit}"),
        ),
    }
}

impl fmt::Display for Count {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&self.get().to_string())
    }
}

#[cfg(test)]
mod tests {
    use crate::{Area, Count, Length, Mass, Seconds, Thickness, Volume};

    #[test]
    fn a_volume_is_printed_in_the_unit_a_person_would_use() {
        let shown = |ul| Volume::from_ul(ul).to_string();
        assert_eq!(shown(0), "0 mL");
        assert_eq!(shown(250), "250 µL");
        assert_eq!(shown(35_200), "35.2 mL");
        assert_eq!(shown(250_000), "250 mL");
        assert_eq!(shown(999_960), "1 L");
        assert_eq!(shown(1_500_000), "1.5 L");
        assert_eq!(shown(-35_200), "-35.2 mL");
    }

    #[test]
    fn a_mass_is_printed_in_the_unit_a_person_would_use() {
        let shown = |mg| Mass::from_mg(mg).to_string();
        assert_eq!(shown(800), "800 mg");
        assert_eq!(shown(60_500), "60.5 g");
        assert_eq!(shown(412_000), "412 g");
        assert_eq!(shown(1_200_000), "1.2 kg");
    }

    #[test]
    fn lengths_and_thicknesses_keep_their_workshop_units() {
        assert_eq!(Length::from_mm(150).to_string(), "150 mm");
        assert_eq!(Length::from_mm(50_000).to_string(), "50 m");
        assert_eq!(Length::from_mm(10_500).to_string(), "10.5 m");
        assert_eq!(Thickness::from_um(90).to_string(), "90 µm");
        assert_eq!(Count::new(3).to_string(), "3");
    }

    #[test]
    fn an_area_is_printed_with_two_figures_after_the_point_at_most() {
        let shown = |mm2| Area::from_mm2(mm2).to_string();
        assert_eq!(shown(12_210_000), "12.2 m²");
        assert_eq!(shown(1_420_000), "1.42 m²");
        assert_eq!(shown(100_000), "0.1 m²");
        assert_eq!(shown(99_990), "999.9 cm²");
        assert_eq!(shown(50_000), "500 cm²");
        assert_eq!(shown(2_500), "25 cm²");
        assert_eq!(shown(999), "9.99 cm²");
        assert_eq!(shown(1), "0.01 cm²");
        assert_eq!(shown(0), "0 m²");
    }

    #[test]
    fn a_time_is_printed_in_at_most_two_parts() {
        let shown = |s| Seconds::from_s(s).to_string();
        assert_eq!(shown(0), "0 s");
        assert_eq!(shown(144), "2 min 24 s");
        assert_eq!(shown(11_400), "3 h 10 min");
        assert_eq!(shown(7_199), "2 h");
        assert_eq!(shown(86_400), "24 h");
        assert_eq!(shown(172_800), "48 h");
        assert_eq!(shown(90 * 3_600), "3 days 18 h");
    }

    #[test]
    fn a_printed_quantity_lines_up_in_a_table() {
        assert_eq!(format!("{:>8}|", Volume::from_ul(250_000)), "  250 mL|");
    }

    #[test]
    fn the_extremes_print_without_overflow() {
        assert_eq!(Volume::from_ul(i64::MIN).to_string(), "-9223372036854.78 L");
        assert!(Seconds::from_s(i64::MAX).to_string().ends_with(" h"));
    }
}
