//! Ids as people type them: `SUV Monday`, `black_suv` and `suv-monday` are one.
//!
//! An id that is new may be left to its name, and a name to its id.

/// A name as an id of the book: lower case, hyphens for whatever stands between words.
pub(crate) fn id_of(text: &str) -> String {
    let lower = text.trim().to_lowercase();
    let words = lower.split(|c: char| !c.is_alphanumeric());
    let words: Vec<&str> = words.filter(|word| !word.is_empty()).collect();
    words.join("-")
}

/// Reads an id.
///
/// # Errors
/// When nothing of it can stand in an id.
pub(crate) fn id(text: &str) -> Result<String, String> {
    let id = id_of(text);
    if id.is_empty() {
        return Err(format!(
            "'{text}' has neither a letter nor a digit; an id is written coarse-foam-150"
        ));
    }
    Ok(id)
}

/// Reads the id of an order, of which the number is enough.
///
/// # Errors
/// As [`id`].
pub(crate) fn order(text: &str) -> Result<String, String> {
    let number = text.trim().trim_start_matches('#');
    if !number.is_empty() && number.bytes().all(|byte| byte.is_ascii_digit()) {
        return Ok(format!("order-{number}"));
    }
    id(text)
}

/// The id and the name of something new, of which one may be left to the other.
pub(crate) fn with_name(id: Option<&str>, name: Option<&str>) -> (String, String) {
    let said = id.or(name).unwrap_or_default();
    let name = name.map_or_else(|| said.replace('-', " "), str::to_owned);
    (id_of(said), name)
}

#[cfg(test)]
mod tests {
    use super::{id, id_of, order, with_name};

    #[test]
    fn a_name_is_an_id_however_it_is_typed() {
        for (typed, id) in [
            ("van-a", "van-a"),
            ("Van A", "van-a"),
            ("black_suv", "black-suv"),
            ("SUV Monday", "suv-monday"),
            (" the  van. ", "the-van"),
        ] {
            assert_eq!(id_of(typed), id);
        }
        assert!(id("?!").unwrap_err().contains("'?!'"));
        for typed in ["1", "#1", "order-1", "Order 1"] {
            assert_eq!(order(typed).as_deref(), Ok("order-1"), "{typed}");
        }
    }

    #[test]
    fn an_id_may_be_left_to_the_name_and_a_name_to_the_id() {
        let told = |id, name| {
            let (id, name) = with_name(id, name);
            format!("{id}/{name}")
        };
        assert_eq!(told(Some("tern-quay"), None), "tern-quay/tern quay");
        assert_eq!(
            told(None, Some("Tern Quay Supplies")),
            "tern-quay-supplies/Tern Quay Supplies"
        );
        assert_eq!(told(Some("Tern Quay"), None), "tern-quay/Tern Quay");
        assert_eq!(told(Some("tq"), Some("Tern Quay")), "tq/Tern Quay");
    }
}
