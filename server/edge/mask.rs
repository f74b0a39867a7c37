//! Field masks: which fields of what is there are replaced by what was sent.
//!
//! It serves the edits. What is edited is put together in the contract's own form and parsed once,
//! whole; a mask may never name an id or what the service works out itself.

use fettlebook_contract::v1;
use fettlebook_contract::v1::make::Figures;
use prost_types::FieldMask;

use super::status::EdgeError;

/// The plain fields of a message that may be edited.
pub(super) trait Plain: Sized {
    /// Their names.
    const NAMES: &'static [&'static str];
    /// Takes one over; says whether there is one of that name.
    fn put_plain(&mut self, from: &Self, name: &str) -> bool;
    /// Names of those that are set.
    fn set_names(&self) -> Vec<&'static str>;
}

macro_rules! plain {
    ($message:ident { $($field:ident),+ $(,)? }) => {
        impl Plain for v1::$message {
            const NAMES: &'static [&'static str] = &[$(stringify!($field)),+];

            fn put_plain(&mut self, from: &Self, name: &str) -> bool {
                match name {
                    $(stringify!($field) => self.$field.clone_from(&from.$field),)+
                    _ => return false,
                }
                true
            }

            fn set_names(&self) -> Vec<&'static str> {
                let mut set = Vec::new();
                $(if is_set(&self.$field) { set.push(stringify!($field)); })+
                set
            }
        }
    };
}

plain!(Make {
    name,
    price,
    pack_count,
    ghs_codes,
    note
});
plain!(PadFigures {
    material,
    grade,
    face_mm,
    rated_work_sections,
    rated_wash_count,
    load_sections,
    dry_time_s,
    typical_life_sections,
    least_life_sections,
});
plain!(PlateFigures {
    diameter_mm,
    thread,
    rated_speed_per_min,
    rated_run_h,
    rated_change_count
});
plain!(MachineFigures {
    action,
    throw_mm,
    thread,
    max_speed_per_min,
    work_speed_per_min,
    vibration_mm_per_s2,
    vibration_measured,
    noise_db,
    spot,
});
plain!(TowelFigures {
    weight_g_per_m2,
    inspect_wash_count,
    demote_wash_count,
    dry_time_s
});
plain!(LiquidFigures {
    grade,
    bottle_ul,
    density_mg_per_ml,
    tare_mg,
    prime_dot_count,
    refresh_dot_count,
});
plain!(SundryFigures {
    unit,
    pack_quantity
});
plain!(Car {
    class,
    note,
    length_mm,
    width_mm,
    height_mm,
    panels
});
plain!(Routine {
    name,
    steps,
    towel_make,
    cells_per_section_count,
    sundries
});
plain!(Job {
    car,
    routine,
    place,
    start_time,
    utc_offset_s,
    left_out_panels,
    note
});
plain!(Supplier {
    name,
    lead_days,
    min_order,
    free_delivery_from,
    freight,
    order_days,
    offers,
    note
});

fn is_set<T: Default + PartialEq>(field: &T) -> bool {
    *field != T::default()
}

/// A message that is edited by a mask.
pub(super) trait Editable: Plain {
    /// Takes over the field at a path; says whether there is one.
    fn put(&mut self, from: &Self, path: &str) -> bool {
        self.put_plain(from, path)
    }

    /// Paths of all that is set.
    fn set_paths(&self) -> Vec<String> {
        self.set_names().into_iter().map(str::to_owned).collect()
    }

    /// Every path there is, for people.
    fn paths() -> String {
        Self::NAMES.join(", ")
    }
}

impl Editable for v1::Car {}
impl Editable for v1::Routine {}
impl Editable for v1::Job {}
impl Editable for v1::Supplier {}

/// The sorts of figures with their names in the contract, each done in turn by a macro.
macro_rules! for_each_sort {
    ($do:ident) => {
        $do! {
            "pad" Pad PadFigures, "plate" Plate PlateFigures, "machine" Machine MachineFigures,
            "towel" Towel TowelFigures, "liquid" Liquid LiquidFigures, "sundry" Sundry SundryFigures
        }
    };
}

impl Editable for v1::Make {
    fn put(&mut self, from: &Self, path: &str) -> bool {
        match path.split_once('.') {
            Some((sort, name)) => put_figure(self, from, sort, name),
            None => self.put_plain(from, path) || put_figures(self, from, path),
        }
    }

    fn set_paths(&self) -> Vec<String> {
        let plain = self.set_names().into_iter().map(str::to_owned);
        plain.chain(figure_paths(self.figures.as_ref())).collect()
    }

    fn paths() -> String {
        let mut all: Vec<String> = Self::NAMES.iter().map(|name| (*name).to_owned()).collect();
        macro_rules! add {
            ($($name:literal $sort:ident $figures:ident),+) => {
                $(all.push(format!("{0} or {0}.FIELD", $name));)+
            };
        }
        for_each_sort!(add);
        all.join(", ")
    }
}

/// Replaces the figures by those sent of the sort named.
fn put_figures(to: &mut v1::Make, from: &v1::Make, sort: &str) -> bool {
    macro_rules! put {
        ($($name:literal $sort:ident $figures:ident),+) => {
            match (sort, &from.figures) {
                $(($name, Some(Figures::$sort(sent))) => {
                    to.figures = Some(Figures::$sort(sent.clone()));
                    true
                })+
                $(($name, _) => {
                    to.figures = None;
                    true
                })+
                _ => false,
            }
        };
    }
    for_each_sort!(put)
}

/// Replaces one figure. A make of another sort gets all that was sent, and is refused for it later.
fn put_figure(to: &mut v1::Make, from: &v1::Make, sort: &str, name: &str) -> bool {
    macro_rules! put {
        ($($word:literal $sort:ident $figures:ident),+) => {
            match (sort, &mut to.figures, &from.figures) {
                $(($word, Some(Figures::$sort(held)), Some(Figures::$sort(sent))) => {
                    held.put_plain(sent, name)
                })+
                $(($word, Some(Figures::$sort(held)), None) => {
                    held.put_plain(&v1::$figures::default(), name)
                })+
                $(($word, _, Some(Figures::$sort(_))) => put_figures(to, from, sort),)+
                _ => false,
            }
        };
    }
    for_each_sort!(put)
}

fn figure_paths(figures: Option<&Figures>) -> Vec<String> {
    macro_rules! paths {
        ($($word:literal $sort:ident $figures:ident),+) => {
            match figures {
                $(Some(Figures::$sort(sent)) => {
                    sent.set_names().into_iter().map(|name| format!("{}.{name}", $word)).collect()
                })+
                None => Vec::new(),
            }
        };
    }
    for_each_sort!(paths)
}

/// Puts the fields that the mask names, or all that are set when it names none, over what is there.
pub(super) fn edit<M: Editable>(
    held: &mut M,
    sent: &M,
    mask: Option<FieldMask>,
) -> Result<(), EdgeError> {
    let paths = match mask {
        Some(mask) if !mask.paths.is_empty() => mask.paths,
        _ => sent.set_paths(),
    };
    for path in paths {
        if !held.put(sent, &path) {
            return Err(EdgeError::Mask {
                path: shown(&path),
                accepted: M::paths(),
            });
        }
    }
    Ok(())
}

/// A path as it is said back: not longer than any of ours, and one line.
fn shown(path: &str) -> String {
    const CHARS_MAX: usize = 60;
    path.chars()
        .filter(|c| !c.is_control())
        .take(CHARS_MAX)
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn pad(load: Option<i64>, washes: Option<i64>) -> v1::Make {
        let figures = v1::PadFigures {
            face_mm: 150,
            load_sections: load,
            rated_wash_count: washes,
            ..v1::PadFigures::default()
        };
        v1::Make {
            make: "coarse-foam-150".to_owned(),
            name: "coarse foam 150".to_owned(),
            note: "old".to_owned(),
            figures: Some(Figures::Pad(figures)),
            ..v1::Make::default()
        }
    }

    fn edited(sent: &v1::Make, paths: &[&str]) -> Result<v1::Make, EdgeError> {
        let mut held = pad(Some(18), Some(20));
        let mask = FieldMask {
            paths: paths.iter().map(|path| (*path).to_owned()).collect(),
        };
        edit(&mut held, sent, Some(mask)).map(|()| held)
    }

    #[test]
    fn only_what_the_mask_names_is_taken_over() {
        let sent = v1::Make {
            name: "other".to_owned(),
            ..pad(Some(12), None)
        };
        assert_eq!(
            edited(&sent, &["pad.load_sections"]).unwrap(),
            pad(Some(12), Some(20))
        );
    }

    #[test]
    fn a_named_field_that_is_absent_is_cleared() {
        let sent = v1::Make::default();
        let held = edited(&sent, &["pad.rated_wash_count", "note"]).unwrap();
        assert_eq!(
            held,
            v1::Make {
                note: String::new(),
                ..pad(Some(18), None)
            }
        );
    }

    #[test]
    fn without_a_mask_every_field_that_is_set_is_taken_over() {
        let mut sent = pad(Some(12), None);
        sent.note.clear();
        assert_eq!(edited(&sent, &[]).unwrap(), pad(Some(12), Some(20)));
    }

    #[test]
    fn a_field_named_twice_is_taken_once() {
        let sent = v1::Make {
            note: "new".to_owned(),
            ..v1::Make::default()
        };
        assert_eq!(edited(&sent, &["note", "note"]).unwrap().note, "new");
    }

    #[test]
    fn ids_and_unknown_fields_cannot_be_named() {
        for path in [
            "make",
            "figures",
            "pad.colour",
            "plate.thread",
            "pad.face_mm.x",
            "Name",
            "",
        ] {
            let refused = edited(&pad(None, None), &[path]);
            assert!(matches!(refused, Err(EdgeError::Mask { .. })), "{path}");
        }
        let (mut held, sent) = (v1::Job::default(), v1::Job::default());
        for path in ["job", "state", "last_seq", "done_time"] {
            let mask = FieldMask {
                paths: vec![path.to_owned()],
            };
            assert!(edit(&mut held, &sent, Some(mask)).is_err(), "{path}");
        }
    }

    #[test]
    fn figures_of_another_sort_are_taken_whole_for_the_model_to_refuse() {
        let plate = Figures::Plate(v1::PlateFigures {
            diameter_mm: 125,
            ..Default::default()
        });
        let sent = v1::Make {
            figures: Some(plate.clone()),
            ..v1::Make::default()
        };
        assert_eq!(
            edited(&sent, &["plate"]).unwrap().figures,
            Some(plate.clone())
        );
        assert_eq!(edited(&sent, &[]).unwrap().figures, Some(plate));
    }
}
