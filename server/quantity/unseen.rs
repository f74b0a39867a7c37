//! Marks in a text that nobody sees: of no width, turning the reading direction, or ending a line.
//!
//! Two names that look alike must be alike, and a line must end where it seems to.

/// Whether a character is such a mark. Those that only choose how an emoji is drawn are none: what
/// they do is seen.
///
/// Source: Unicode Standard Annex 44, the properties Default_Ignorable_Code_Point and Bidi_Control,
/// the categories Zl and Zp; Unicode Standard chapter 23.8 for the marks of annotation.
pub const fn is_unseen(c: char) -> bool {
    matches!(c,
        '\u{AD}' | '\u{34F}' | '\u{61C}' | '\u{115F}'..='\u{1160}' | '\u{17B4}'..='\u{17B5}'
        | '\u{180B}'..='\u{180F}' | '\u{200B}'..='\u{200F}' | '\u{2028}'..='\u{202E}'
        | '\u{2060}'..='\u{206F}' | '\u{3164}' | '\u{FE00}'..='\u{FE0D}' | '\u{FEFF}'
        | '\u{FFA0}' | '\u{FFF0}'..='\u{FFFB}' | '\u{1BCA0}'..='\u{1BCA3}'
        | '\u{1D173}'..='\u{1D17A}' | '\u{E0000}'..='\u{E0FFF}')
}

/// How a character that nobody sees is named, such as `U+200B`.
pub fn code_point(c: char) -> String {
    format!("U+{:04X}", u32::from(c))
}

#[cfg(test)]
mod tests {
    use regex_syntax::hir::{Class, HirKind};

    use super::{code_point, is_unseen};

    /// Source: the tables of the crate `regex-syntax`, made from the Unicode Character Database.
    #[test]
    fn what_is_unseen_is_what_the_character_database_says() {
        let class = r"[[\p{Default_Ignorable_Code_Point}\p{Bidi_Control}\p{Zl}\p{Zp}\x{FFF9}-\x{FFFB}]--[\x{FE0E}\x{FE0F}]]";
        let hir = regex_syntax::parse(class).unwrap();
        let HirKind::Class(Class::Unicode(class)) = hir.kind() else {
            panic!("a class of characters")
        };
        for c in '\0'..=char::MAX {
            let listed = class
                .ranges()
                .iter()
                .any(|range| range.start() <= c && c <= range.end());
            assert_eq!(is_unseen(c), listed, "{}", code_point(c));
        }
    }

    #[test]
    fn a_mark_is_named_by_its_code_point() {
        assert_eq!(code_point('\u{AD}'), "U+00AD");
        assert_eq!(code_point('\u{E0041}'), "U+E0041");
    }
}
