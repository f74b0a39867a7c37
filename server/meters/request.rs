//! The meter of one request, from its arrival to its end.
//!
//! It serves the edge. Whatever becomes of a request, it is counted out exactly once.

use std::time::Duration;

use super::{AnswerLabels, Meters, MethodLabel, Open, ReasonLabel};

/// The meter of one request. It is in flight until this is dropped.
#[derive(Debug)]
pub struct RequestMeter {
    meters: Meters,
    method: &'static str,
    timed: bool,
    _in_flight: Open,
}

impl RequestMeter {
    pub(super) fn new(meters: Meters, method: &'static str) -> Self {
        Self {
            _in_flight: Open::new(&meters.0.in_flight),
            meters,
            method,
            timed: false,
        }
    }

    /// The answer has begun after this time. Only the first time counts.
    pub fn began(&mut self, took: Duration) {
        if std::mem::replace(&mut self.timed, true) {
            return;
        }
        let label = MethodLabel {
            method: self.method,
        };
        let families = &self.meters.0;
        let times = families.request_time.get_or_create(&label);
        times.observe(took.as_secs_f64());
    }

    /// The answer has ended with this gRPC code, and with this reason where it is a refusal.
    pub fn ended(self, code: &'static str, reason: Option<&'static str>) {
        let labels = AnswerLabels {
            method: self.method,
            code,
        };
        let families = &self.meters.0;
        families.answers.get_or_create(&labels).inc();
        if let Some(reason) = reason {
            families
                .refusals
                .get_or_create(&ReasonLabel { reason })
                .inc();
        }
    }
}
