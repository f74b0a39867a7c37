//! A published case, our figures for it, and how the two are compared.

use serde_json::Value;

/// Our figures for a case, by the names the case gives them.
#[derive(Default)]
pub(crate) struct Figures {
    computed: Vec<(String, Vec<f64>)>,
    told: Vec<(&'static str, Value)>,
    left_out: Vec<&'static str>,
}

impl Figures {
    pub(crate) fn of<const N: usize>(figures: [(&str, f64); N]) -> Self {
        let all = figures.into_iter();
        all.fold(Self::default(), |all, (name, figure)| {
            all.with(name, [figure])
        })
    }

    pub(crate) fn with(mut self, name: &str, figures: impl IntoIterator<Item = f64>) -> Self {
        let figures = figures.into_iter().collect();
        self.computed.push((name.to_owned(), figures));
        self
    }

    /// A figure that must be the expected one to the last digit: exact decimals as text, whole numbers,
    /// and tables of them.
    pub(crate) fn told(mut self, name: &'static str, figure: Value) -> Self {
        self.told.push((name, figure));
        self
    }

    /// Figures that are not ours; the caller says why.
    pub(crate) fn without<const N: usize>(mut self, names: [&'static str; N]) -> Self {
        self.left_out.extend(names);
        self
    }

    fn named(&self, case: &Value, name: &str) -> &[f64] {
        let found = self.computed.iter().find(|(ours, _)| ours == name);
        let found = found.unwrap_or_else(|| panic!("{}: {name} is not computed", case["id"]));
        &found.1
    }

    /// Compares every expected figure at the case's tolerance, and every printed one at its own.
    pub(crate) fn agree_with(&self, case: &Value) {
        let mut numeric = case["expected"].clone();
        for name in &self.left_out {
            numeric.as_object_mut().unwrap().remove(*name);
        }
        for (name, ours) in &self.told {
            // Costs by another method give only some of the figures.
            if let Some(theirs) = numeric.as_object_mut().unwrap().remove(*name) {
                assert_eq!(*ours, theirs, "{}: {name} ({})", case["id"], case["source"]);
            }
        }
        for (name, path, theirs) in expected(&numeric) {
            let ours = self.named(case, &path);
            assert_eq!(ours.len(), theirs.len(), "{}: {path}", case["id"]);
            agree(case, &path, ours, &theirs, &tolerance(case, &name));
        }
        let printed = case["published"].as_object().into_iter().flatten();
        for (name, printed) in printed.filter(|(name, _)| !self.left_out.contains(&name.as_str())) {
            let absolute = printed["abs_tol"].as_f64().unwrap();
            let theirs = numbers(&printed["value"]);
            assert!(!theirs.is_empty(), "{}: {name}", case["id"]);
            // A source may print only the first rows.
            let ours = &self.named(case, name)[..theirs.len()];
            agree(case, name, ours, &theirs, &|_| absolute);
        }
    }
}

/// Name of each figure, the path by which ours is found, and the numbers: a table by rows becomes its
/// columns, a table by key one figure for each key.
fn expected(expected: &Value) -> Vec<(String, String, Vec<f64>)> {
    let mut all = Vec::new();
    for (name, value) in expected.as_object().unwrap() {
        if let Some(inner) = value.as_object() {
            for (below, value) in inner {
                all.push((below.clone(), format!("{name}.{below}"), numbers(value)));
            }
        } else if value[0].is_object() {
            for column in value[0].as_object().unwrap().keys() {
                let rows = value.as_array().unwrap().iter();
                let numbers = rows.flat_map(|row| numbers(&row[column])).collect();
                all.push((column.clone(), column.clone(), numbers));
            }
        } else {
            all.push((name.clone(), name.clone(), numbers(value)));
        }
    }
    all
}

/// How far from a published value ours may be: the figure's own tolerance, or the case's one for all.
fn tolerance(case: &Value, name: &str) -> Box<dyn Fn(f64) -> f64> {
    let own = match name {
        "survival_exact" => &case["tolerance"]["survival"],
        name => &case["tolerance"][name],
    };
    let given = if own.is_null() {
        &case["tolerance"]
    } else {
        own
    };
    let relative = given["rel"].as_f64();
    let absolute = given["abs"].as_f64();
    if relative.is_none() && absolute.is_none() {
        return Box::new(|value: f64| 1e-12 * value.abs());
    }
    Box::new(move |value: f64| (relative.unwrap_or(0.0) * value.abs()).max(absolute.unwrap_or(0.0)))
}

fn agree(case: &Value, name: &str, ours: &[f64], theirs: &[f64], within: &dyn Fn(f64) -> f64) {
    for (our, their) in ours.iter().zip(theirs) {
        assert!(
            (our - their).abs() <= within(*their),
            "{}: {name} is {our}, published {their} ({})",
            case["id"],
            case["source"]
        );
    }
}

/// The numbers of a value: one, several, none of `null`, a fraction, or 1 and 0 for yes and no.
pub(crate) fn numbers(value: &Value) -> Vec<f64> {
    match value {
        Value::Null => Vec::new(),
        Value::Bool(yes) => vec![f64::from(*yes)],
        Value::String(fraction) => {
            let (over, under) = fraction.split_once('/').unwrap();
            vec![over.parse::<f64>().unwrap() / under.parse::<f64>().unwrap()]
        }
        Value::Array(list) => list.iter().flat_map(numbers).collect(),
        number => vec![number.as_f64().unwrap()],
    }
}
