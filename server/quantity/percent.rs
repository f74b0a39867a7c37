//! Shares and chances as people read them.
//!
//! They serve every screen and page, so that one figure is told alike on all of them. A figure must never be told
//! as more than it is.

/// A share as a whole percentage; what is not quite all is never told as all.
#[must_use]
pub fn percent(share: f64) -> String {
    let rounded = (share * 100.0).round();
    let told = if share < 1.0 {
        rounded.min(99.0)
    } else {
        rounded
    };
    format!("{told:.0} %")
}

/// A probability as a percentage, told beside one that is aimed at. What is not certain is never told
/// as certain, and what falls short of the aim is never told as the same figure.
#[must_use]
pub fn chance(chance: f64, aim: f64) -> String {
    if !chance.is_finite() {
        return "not known".to_owned();
    }
    if chance >= 0.995 {
        return ">99 %".to_owned();
    }
    if chance < 0.005 {
        return "<1 %".to_owned();
    }
    let told = percent(chance);
    if chance < aim && told == percent(aim) {
        return format!("{:.1} %", (chance * 1_000.0).floor() / 10.0);
    }
    told
}

#[cfg(test)]
mod tests {
    use super::{chance, percent};

    #[test]
    fn nearly_all_is_not_told_as_all() {
        assert_eq!(percent(0.996), "99 %");
        assert_eq!(percent(1.0), "100 %");
        assert_eq!(percent(0.005), "1 %");
    }

    #[test]
    fn a_chance_is_never_told_as_certain_nor_as_more_than_it_is() {
        let told = |share| chance(share, 0.95);
        assert_eq!(told(0.93), "93 %");
        assert_eq!(told(1.0), ">99 %");
        assert_eq!(told(0.9951), ">99 %");
        assert_eq!(told(0.995), ">99 %");
        assert_eq!(told(0.9949), "99 %");
        assert_eq!(told(0.004), "<1 %");
        assert_eq!(told(0.005), "1 %");
        assert_eq!(told(0.0), "<1 %");
        assert_eq!(told(0.95), "95 %");
        assert_eq!(told(0.9499), "94.9 %");
        assert_eq!(told(f64::NAN), "not known");
    }
}
