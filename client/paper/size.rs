//! Sizes of paper.

use minijinja::{Value, context};

/// A sheet of paper, upright.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) enum Size {
    /// 210 × 297 mm (ISO 216).
    #[default]
    A4,
    /// 148 × 210 mm (ISO 216).
    A5,
    /// 8.5 × 11 in (ANSI A).
    Letter,
}

impl Size {
    /// Reads the name of a size.
    ///
    /// # Errors
    /// A sentence that names the sizes.
    pub(crate) fn read(text: &str) -> Result<Self, String> {
        match text.trim().to_lowercase().as_str() {
            "a4" => Ok(Self::A4),
            "a5" => Ok(Self::A5),
            "letter" | "us letter" | "us-letter" => Ok(Self::Letter),
            _ => Err(format!(
                "'{}' is no size of paper here; write a4, a5 or letter",
                text.trim()
            )),
        }
    }

    /// What the ground's style needs: the name by CSS Paged Media, the margins, and how large letters are and how
    /// high their lines.
    pub(super) fn of_page(self) -> Value {
        let (name, margin, letters, lines) = match self {
            Self::A4 => ("A4", "11mm 13mm 13mm 16mm", "9.5pt", "1.35"),
            Self::A5 => ("A5", "7mm 7mm 9mm 10mm", "7.2pt", "1.3"),
            Self::Letter => ("letter", "11mm 14mm 13mm 17mm", "9.5pt", "1.35"),
        };
        context! { name, margin, letters, lines }
    }
}

#[cfg(test)]
mod tests {
    use super::Size;

    #[test]
    fn sizes_are_read_as_people_write_them() {
        assert_eq!(Size::read("A4"), Ok(Size::A4));
        assert_eq!(Size::read(" a5 "), Ok(Size::A5));
        assert_eq!(Size::read("Letter"), Ok(Size::Letter));
        for text in ["", "a3", "a4;}", "letter,landscape"] {
            let refused = Size::read(text).unwrap_err();
            assert!(refused.contains("a4, a5 or letter"), "{text}: {refused}");
        }
    }
}
