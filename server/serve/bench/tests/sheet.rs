//! A form as a browser has it before somebody fills it in: what is hidden, what is typed, what is ticked.

use super::Got;

/// The names and values that a form would send.
#[derive(Debug, Clone)]
pub(super) struct Sheet {
    pub(super) action: String,
    fields: Vec<(String, String)>,
    /// Ticks that are not set, by name and value.
    open: Vec<(String, String)>,
}

/// Text as it was before the template engine wrote it.
pub(super) fn plain(text: &str) -> String {
    let marks = [
        ("&lt;", "<"),
        ("&gt;", ">"),
        ("&quot;", "\""),
        ("&#x27;", "'"),
        ("&#x2f;", "/"),
        ("&amp;", "&"),
    ];
    marks.iter().fold(text.to_owned(), |text, (mark, letter)| {
        text.replace(mark, letter)
    })
}

/// What stands for a name in a tag.
fn attribute(tag: &str, name: &str) -> Option<String> {
    let (_, rest) = tag.split_once(&format!(" {name}=\""))?;
    rest.split('"').next().map(plain)
}

impl Sheet {
    /// The first form that is sent to this address.
    pub(super) fn of(got: &Got, action: &str) -> Self {
        let start = format!("<form action=\"{action}\" method=\"post\"");
        let found = got.text.replace("&#x2f;", "/");
        let (_, rest) = found
            .split_once(&start)
            .unwrap_or_else(|| panic!("no form for {action}: {got:?}"));
        let (inside, _) = rest.split_once("</form>").unwrap();
        let mut sheet = Self {
            action: action.to_owned(),
            fields: Vec::new(),
            open: Vec::new(),
        };
        for tag in inside.split("<input").skip(1) {
            let tag = tag.split('>').next().unwrap();
            let name = attribute(tag, "name").unwrap();
            let value = attribute(tag, "value").unwrap_or_default();
            let kind = attribute(tag, "type").unwrap_or_default();
            let ticks = kind == "checkbox" || kind == "radio";
            if ticks && !tag.ends_with(" checked") {
                sheet.open.push((name, value));
            } else {
                sheet.fields.push((name, value));
            }
        }
        sheet
    }

    /// The same with this typed or chosen.
    pub(super) fn with(mut self, name: &str, value: &str) -> Self {
        self.fields.retain(|(held, _)| held != name);
        self.fields.push((name.to_owned(), value.to_owned()));
        self
    }

    /// The same with every tick of a name set whose value this takes.
    pub(super) fn ticked(mut self, name: &str, takes: impl Fn(&str) -> bool) -> Self {
        let (set, open) = self
            .open
            .into_iter()
            .partition(|(held, value)| held == name && takes(value));
        self.open = open;
        self.fields.extend::<Vec<_>>(set);
        self
    }

    /// Values that ticks of a name have, set or not.
    pub(super) fn ticks(&self, name: &str) -> Vec<String> {
        let all = self
            .open
            .iter()
            .chain(&self.fields)
            .filter(|(held, _)| held == name);
        all.map(|(_, value)| value.clone()).collect()
    }

    /// What stands for a name.
    pub(super) fn value(&self, name: &str) -> &str {
        let found = self.fields.iter().find(|(held, _)| held == name);
        found.map_or("", |(_, value)| value)
    }

    /// What a browser sends.
    pub(super) fn encoded(&self) -> String {
        let part = |text: &str| {
            let bytes = text.bytes().map(|byte| match byte {
                b'a'..=b'z' | b'A'..=b'Z' | b'0'..=b'9' => char::from(byte).to_string(),
                _ => format!("%{byte:02X}"),
            });
            bytes.collect::<String>()
        };
        let pairs = self
            .fields
            .iter()
            .map(|(name, value)| format!("{}={}", part(name), part(value)));
        pairs.collect::<Vec<_>>().join("&")
    }
}
