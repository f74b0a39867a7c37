//! What labels are printed on: a sheet of A4 with stickers side by side, or one label a page.

/// A4 (ISO 216), mm.
const A4_MM: (f64, f64) = (210.0, 297.0);
/// Least and most that a label of a label printer measures each way, mm.
const LEAST_MM: f64 = 12.0;
const MOST_MM: f64 = 200.0;

/// How large a label is, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct LabelSize {
    width_mm: f64,
    height_mm: f64,
}

impl LabelSize {
    /// Three by eight on a sheet of A4.
    pub(crate) const LARGE: Self = Self {
        width_mm: 70.0,
        height_mm: 36.0,
    };
    /// Five by thirteen on a sheet of A4.
    pub(crate) const SMALL: Self = Self {
        width_mm: 38.0,
        height_mm: 21.0,
    };
    /// A usual label of a label printer (common practice, no source).
    pub(crate) const SINGLE: Self = Self {
        width_mm: 57.0,
        height_mm: 32.0,
    };

    /// Reads a size, `70x36`.
    ///
    /// # Errors
    /// A sentence that says how it is written.
    pub(crate) fn read(text: &str) -> Result<Self, String> {
        let refused = || {
            format!(
                "'{}' is no size of a label; write its width and height in mm, from {LEAST_MM} to {MOST_MM}, for \
                 example 70x36",
                text.trim()
            )
        };
        let lower = text.trim().to_lowercase();
        let bare = lower.strip_suffix("mm").unwrap_or(&lower);
        let (width, height) = bare.split_once(['x', '×', '*']).ok_or_else(refused)?;
        let read = |side: &str| {
            let side = side.trim().trim_end_matches("mm").trim().replace(',', ".");
            let mm: f64 = side.parse().map_err(|_| refused())?;
            let is_right = (LEAST_MM..=MOST_MM).contains(&mm);
            is_right.then_some(mm).ok_or_else(refused)
        };
        Ok(Self {
            width_mm: read(width)?,
            height_mm: read(height)?,
        })
    }
}

/// Pages with places for labels.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Stock {
    page_mm: (f64, f64),
    label: LabelSize,
    columns: u16,
    rows: u16,
}

impl Stock {
    /// A sheet of A4 with labels of a size, which fill its middle without gaps between them; nothing where there
    /// is no such sheet.
    pub(crate) fn sheet(label: LabelSize) -> Option<Self> {
        let (columns, rows) = if label == LabelSize::LARGE {
            (3, 8)
        } else if label == LabelSize::SMALL {
            (5, 13)
        } else {
            return None;
        };
        Some(Self {
            page_mm: A4_MM,
            label,
            columns,
            rows,
        })
    }

    /// One label of a size a page.
    pub(crate) const fn single(label: LabelSize) -> Self {
        Self {
            page_mm: (label.width_mm, label.height_mm),
            label,
            columns: 1,
            rows: 1,
        }
    }

    /// Width and height of a page, mm.
    pub(crate) const fn page_mm(&self) -> (f64, f64) {
        self.page_mm
    }

    /// Width and height of a label, mm.
    pub(crate) const fn label_mm(&self) -> (f64, f64) {
        (self.label.width_mm, self.label.height_mm)
    }

    /// How many labels are on a page.
    pub(crate) fn places(&self) -> usize {
        usize::from(self.columns).saturating_mul(usize::from(self.rows))
    }

    /// The upper left corner of a label on its page, row by row, mm.
    pub(crate) fn corner_mm(&self, place: usize) -> (f64, f64) {
        let columns = usize::from(self.columns).max(1);
        let (column, row) = (place % columns, place / columns);
        let at = |number: usize, count: u16, page: f64, label: f64| {
            let number = u16::try_from(number).unwrap_or(u16::MAX);
            let edge = (page - label * f64::from(count)) / 2.0;
            edge + label * f64::from(number)
        };
        let (width, height) = self.page_mm;
        (
            at(column, self.columns, width, self.label.width_mm),
            at(row, self.rows, height, self.label.height_mm),
        )
    }
}

#[cfg(test)]
mod tests {
    use super::{LabelSize, Stock};

    /// Reckoned by hand: 210 - 3 · 70 = 0, 297 - 8 · 36 = 9; 210 - 5 · 38 = 20, 297 - 13 · 21 = 24.
    #[test]
    fn labels_fill_the_middle_of_a_sheet() {
        let large = Stock::sheet(LabelSize::LARGE).unwrap();
        assert_eq!((large.places(), large.corner_mm(0)), (24, (0.0, 4.5)));
        assert_eq!(large.corner_mm(23), (140.0, 256.5));
        let small = Stock::sheet(LabelSize::SMALL).unwrap();
        assert_eq!((small.places(), small.corner_mm(0)), (65, (10.0, 12.0)));
        assert_eq!(small.corner_mm(64), (162.0, 264.0));
        let single = Stock::single(LabelSize::SINGLE);
        assert_eq!((single.places(), single.corner_mm(0)), (1, (0.0, 0.0)));
    }

    #[test]
    fn sizes_are_read_as_they_stand_on_a_box_of_labels() {
        assert_eq!(LabelSize::read("70x36"), Ok(LabelSize::LARGE));
        assert_eq!(LabelSize::read("38 mm × 21 mm"), Ok(LabelSize::SMALL));
        let odd = LabelSize::read("57,5*32mm").unwrap();
        assert_eq!((odd.width_mm, odd.height_mm), (57.5, 32.0));
        for text in [
            "", "70", "70x", "x36", "5x5", "70x-36", "nanx36", "infx36", "1e9x20",
        ] {
            let refused = LabelSize::read(text).unwrap_err();
            assert!(refused.contains("for example 70x36"), "{text}: {refused}");
        }
        assert_eq!(Stock::sheet(odd), None);
    }
}
