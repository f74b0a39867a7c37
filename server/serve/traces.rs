//! Spans of requests on their way to a collector of OpenTelemetry.
//!
//! It serves shops that look at many services at once, and is built only with the feature `otel`. It
//! begins only where the usual variable names a collector, has threads of its own, and must never make
//! a request wait.
//!
//! Source: <https://opentelemetry.io/docs/specs/otel/protocol/exporter/>, the variables.

use opentelemetry::trace::TracerProvider as _;
use opentelemetry_otlp::{ExporterBuildError, SpanExporter};
use opentelemetry_sdk::Resource;
use opentelemetry_sdk::trace::SdkTracerProvider;
use tokio::runtime::Runtime;
use tracing::Subscriber;
use tracing_subscriber::Layer;
use tracing_subscriber::registry::LookupSpan;

/// Names the collector, for example `http://127.0.0.1:4317`. The exporter reads it, and its further
/// variables, itself.
const COLLECTOR: &str = "OTEL_EXPORTER_OTLP_ENDPOINT";

/// What the spans are said to come from.
const SERVICE: &str = "fettled";

/// Why no traces can be sent.
#[derive(Debug, thiserror::Error)]
pub(super) enum TracesError {
    /// There is no thread to send them.
    #[error("there is no thread to send them: {0}")]
    Runtime(#[from] std::io::Error),
    /// What the variables say makes no sense.
    #[error("{COLLECTOR} and its like cannot be understood: {0}")]
    Exporter(#[from] ExporterBuildError),
}

/// The way to a collector. What waits is sent when it is dropped.
#[derive(Debug)]
pub(super) struct Traces {
    provider: SdkTracerProvider,
    /// Sends them. Theirs alone, so that a collector that is slow takes no thread from the service.
    _runtime: Runtime,
}

/// The way to the collector that the environment names, if it names one.
pub(super) fn from_environment() -> (Option<Traces>, Option<TracesError>) {
    if std::env::var_os(COLLECTOR).is_none_or(|named| named.is_empty()) {
        return (None, None);
    }
    match Traces::new(|| SpanExporter::builder().with_tonic().build()) {
        Ok(traces) => (Some(traces), None),
        Err(error) => (None, Some(error)),
    }
}

impl Traces {
    fn new(
        exporter: impl FnOnce() -> Result<SpanExporter, ExporterBuildError>,
    ) -> Result<Self, TracesError> {
        let runtime = tokio::runtime::Builder::new_multi_thread()
            .worker_threads(1)
            .thread_name("traces")
            .enable_all()
            .build()?;
        let exporter = {
            let _entered = runtime.enter();
            exporter()?
        };
        let resource = Resource::builder().with_service_name(SERVICE).build();
        let provider = SdkTracerProvider::builder()
            .with_batch_exporter(exporter)
            .with_resource(resource)
            .build();
        Ok(Self {
            provider,
            _runtime: runtime,
        })
    }

    /// Takes the spans of whatever it is laid on.
    pub(super) fn layer<S>(&self) -> impl Layer<S> + use<S>
    where
        S: Subscriber + for<'span> LookupSpan<'span>,
    {
        tracing_opentelemetry::layer().with_tracer(self.provider.tracer(SERVICE))
    }
}

impl Drop for Traces {
    fn drop(&mut self) {
        // Nobody is left to tell that the collector did not take the last of them.
        let _ = self.provider.shutdown();
    }
}

#[cfg(test)]
mod tests;
