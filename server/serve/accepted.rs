//! In which text format the metrics are wanted: what a scrape accepts, by HTTP's rule.
//!
//! Source: RFC 9110, section 12.5.1; the names of the formats are those of their specifications,
//! <https://prometheus.io/docs/instrumenting/exposition_formats/> and
//! <https://prometheus.io/docs/specs/om/open_metrics_spec/>.

use hyper::header::HeaderValue;

/// A text format.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Format {
    /// The older one, which every program reads and a browser shows.
    Plain,
    /// OpenMetrics, with units and an end by which a page that was cut off is told.
    OpenMetrics,
}

impl Format {
    /// The format that is wanted more; the older one where it is not said.
    pub(super) fn accepted(accept: &str) -> Self {
        let wanted = |format: Self| {
            let ranges = accept.split(',').filter_map(range);
            let best = ranges.filter(|(range, _)| format.is_in(range));
            best.map(|(_, weight)| weight).fold(0.0, f64::max)
        };
        if wanted(Self::OpenMetrics) > wanted(Self::Plain) {
            Self::OpenMetrics
        } else {
            Self::Plain
        }
    }

    /// What the page is, as its format wants it said.
    pub(super) const fn content_type(self) -> HeaderValue {
        HeaderValue::from_static(match self {
            Self::Plain => "text/plain; version=0.0.4; charset=utf-8",
            Self::OpenMetrics => "application/openmetrics-text; version=1.0.0; charset=utf-8",
        })
    }

    /// Whether a range of types has this one in it. Whoever takes anything takes the older.
    fn is_in(self, range: &str) -> bool {
        match self {
            Self::Plain => ["text/plain", "text/*", "*/*"].contains(&range),
            Self::OpenMetrics => range == "application/openmetrics-text",
        }
    }
}

/// A range of types and how much it is wanted, from 0 to 1; 1 where that is not said.
fn range(text: &str) -> Option<(String, f64)> {
    let mut parts = text.split(';').map(str::trim);
    let range = parts.next()?.to_ascii_lowercase();
    let said = parts.find_map(|part| {
        let (name, value) = part.split_once('=')?;
        name.trim().eq_ignore_ascii_case("q").then(|| value.trim())
    });
    let weight = said.map_or(Some(1.0), |weight| weight.parse().ok())?;
    Some((range, weight))
}

#[cfg(test)]
mod tests {
    use super::Format;

    /// Source: RFC 9110, section 12.5.1; the long line is from memory, what a collector sends.
    #[test]
    fn the_format_that_is_wanted_more_is_told() {
        for (accept, format) in [
            ("", Format::Plain),
            ("*/*", Format::Plain),
            ("text/html, */*;q=0.8", Format::Plain),
            ("application/openmetrics-text", Format::OpenMetrics),
            (
                "application/openmetrics-text; version=1.0.0; charset=utf-8",
                Format::OpenMetrics,
            ),
            (
                "application/openmetrics-text;version=1.0.0;q=0.5,application/openmetrics-text;version=0.0.1;q=0.4,\
                 text/plain;version=0.0.4;q=0.3,*/*;q=0.2",
                Format::OpenMetrics,
            ),
            (
                "application/openmetrics-text;q=0.2, text/plain;q=0.9",
                Format::Plain,
            ),
            (
                "Application/OpenMetrics-Text; Q=0.9, */*; q=0.1",
                Format::OpenMetrics,
            ),
            ("application/openmetrics-text;q=0", Format::Plain),
        ] {
            assert_eq!(Format::accepted(accept), format, "{accept}");
        }
    }
}
