//! Spans arrive at a collector: the smallest one that speaks the protocol, made from its own contract.

use std::net::SocketAddr;
use std::sync::mpsc;

use opentelemetry_otlp::WithExportConfig as _;
use opentelemetry_proto::tonic::collector::trace::v1::trace_service_server::{
    TraceService, TraceServiceServer,
};
use opentelemetry_proto::tonic::collector::trace::v1::{
    ExportTraceServiceRequest, ExportTraceServiceResponse,
};
use opentelemetry_proto::tonic::common::v1::any_value::Value;
use tokio::net::TcpListener;
use tokio_stream::wrappers::TcpListenerStream;
use tonic::{Request, Response, Status};
use tracing_subscriber::layer::SubscriberExt as _;

use super::*;

/// A collector that hands on what it gets.
struct Collector(mpsc::Sender<ExportTraceServiceRequest>);

#[tonic::async_trait]
impl TraceService for Collector {
    async fn export(
        &self,
        request: Request<ExportTraceServiceRequest>,
    ) -> Result<Response<ExportTraceServiceResponse>, Status> {
        self.0.send(request.into_inner()).unwrap();
        Ok(Response::new(ExportTraceServiceResponse::default()))
    }
}

fn collector(runtime: &Runtime) -> (SocketAddr, mpsc::Receiver<ExportTraceServiceRequest>) {
    let (to, got) = mpsc::channel();
    let listener = runtime.block_on(TcpListener::bind("127.0.0.1:0")).unwrap();
    let address = listener.local_addr().unwrap();
    let server = tonic::transport::Server::builder()
        .add_service(TraceServiceServer::new(Collector(to)))
        .serve_with_incoming(TcpListenerStream::new(listener));
    runtime.spawn(server);
    (address, got)
}

#[test]
fn what_waits_is_sent_when_the_service_stops() {
    let runtime = Runtime::new().unwrap();
    let (address, got) = collector(&runtime);
    let traces = Traces::new(|| {
        let exporter = SpanExporter::builder().with_tonic();
        exporter.with_endpoint(format!("http://{address}")).build()
    })
    .unwrap();
    let subscriber = tracing_subscriber::registry().with(traces.layer());
    tracing::subscriber::with_default(subscriber, || {
        let span = tracing::error_span!(
            "request",
            method = "S/M",
            request_id = tracing::field::Empty
        );
        span.record("request_id", "018f-1");
    });
    drop(traces);
    let sent = got.recv().unwrap();
    let from = &sent.resource_spans[0];
    let resource = &from.resource.as_ref().unwrap().attributes;
    let said = |attributes: &[opentelemetry_proto::tonic::common::v1::KeyValue], key: &str| {
        let found = attributes.iter().find(|attribute| attribute.key == key);
        found.and_then(|found| found.value.clone()?.value)
    };
    assert_eq!(
        said(resource, "service.name"),
        Some(Value::StringValue(SERVICE.to_owned()))
    );
    let span = &from.scope_spans[0].spans[0];
    assert_eq!(span.name, "request");
    for (key, value) in [("method", "S/M"), ("request_id", "018f-1")] {
        let value = Value::StringValue(value.to_owned());
        assert_eq!(said(&span.attributes, key), Some(value), "{span:?}");
    }
}
