//! The panels of a car, one word for each, and words for several at once.
//!
//! They serve the car's areas, job plans and logs. A panel is a place on the body, not a part to be
//! ordered; bare plastic, film and glass are left out of a job by leaving out the panel.

use crate::ground::word::{normal, word_enum};

word_enum! {
    /// One panel of a car.
    Panel is "a panel" {
        /// Bonnet.
        Bonnet = "bonnet",
        /// Roof.
        Roof = "roof",
        /// Boot lid, tailgate or back doors.
        Boot = "boot",
        /// Left front door.
        FrontDoorLeft = "front-door-left",
        /// Right front door.
        FrontDoorRight = "front-door-right",
        /// Left rear door.
        RearDoorLeft = "rear-door-left",
        /// Right rear door.
        RearDoorRight = "rear-door-right",
        /// Left front wing.
        FrontWingLeft = "front-wing-left",
        /// Right front wing.
        FrontWingRight = "front-wing-right",
        /// Left rear quarter, bed side or body side.
        RearQuarterLeft = "rear-quarter-left",
        /// Right rear quarter, bed side or body side.
        RearQuarterRight = "rear-quarter-right",
        /// Front bumper.
        FrontBumper = "front-bumper",
        /// Rear bumper.
        RearBumper = "rear-bumper",
        /// Left sill.
        SillLeft = "sill-left",
        /// Right sill.
        SillRight = "sill-right",
        /// Left pillars and roof rail.
        PillarsLeft = "pillars-left",
        /// Right pillars and roof rail.
        PillarsRight = "pillars-right",
        /// Left mirror.
        MirrorLeft = "mirror-left",
        /// Right mirror.
        MirrorRight = "mirror-right",
    }
}

impl Panel {
    /// The words that stand for several panels, or for one under another name.
    pub const GROUP_WORDS: &'static [&'static str] = &[
        "doors",
        "front-doors",
        "rear-doors",
        "wings",
        "rear-quarters",
        "bumpers",
        "sills",
        "pillars",
        "mirrors",
        "tailgate",
    ];

    /// The panels a group word stands for, left before right; `None` for any other word.
    #[must_use]
    pub fn group(word: &str) -> Option<Vec<Self>> {
        let panels: &[Self] = match normal(word).as_str() {
            "doors" => &[
                Self::FrontDoorLeft,
                Self::FrontDoorRight,
                Self::RearDoorLeft,
                Self::RearDoorRight,
            ],
            "front-doors" => &[Self::FrontDoorLeft, Self::FrontDoorRight],
            "rear-doors" => &[Self::RearDoorLeft, Self::RearDoorRight],
            "wings" => &[Self::FrontWingLeft, Self::FrontWingRight],
            "rear-quarters" => &[Self::RearQuarterLeft, Self::RearQuarterRight],
            "bumpers" => &[Self::FrontBumper, Self::RearBumper],
            "sills" => &[Self::SillLeft, Self::SillRight],
            "pillars" => &[Self::PillarsLeft, Self::PillarsRight],
            "mirrors" => &[Self::MirrorLeft, Self::MirrorRight],
            "tailgate" => &[Self::Boot],
            _ => return None,
        };
        Some(panels.to_vec())
    }
}

#[cfg(test)]
mod tests {
    use super::Panel;

    #[test]
    fn a_car_has_nineteen_panels_each_with_its_own_word() {
        assert_eq!(Panel::ALL.len(), 19);
        for panel in Panel::ALL {
            assert_eq!(panel.to_string().parse(), Ok(*panel));
        }
        assert_eq!("front-door-left".parse(), Ok(Panel::FrontDoorLeft));
    }

    #[test]
    fn a_group_word_stands_for_its_panels() {
        assert_eq!(Panel::group("doors").unwrap().len(), 4);
        assert_eq!(
            Panel::group("Front Doors").unwrap(),
            [Panel::FrontDoorLeft, Panel::FrontDoorRight]
        );
        assert_eq!(Panel::group("tailgate").unwrap(), [Panel::Boot]);
        assert_eq!(Panel::group("bonnet"), None);
    }

    #[test]
    fn every_group_word_listed_is_known_and_none_is_a_panel() {
        for word in Panel::GROUP_WORDS {
            assert!(Panel::group(word).is_some(), "{word}");
            assert!(word.parse::<Panel>().is_err(), "{word}");
        }
    }
}
