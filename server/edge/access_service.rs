//! The access service: codes for new devices, pairing, and looking after devices.
//!
//! It serves whoever owns the shop, and the device that is being let in. A service without TLS has no
//! devices and says so. What is written goes to the disk off the threads that answer others.

use std::sync::Arc;

use fettlebook_contract::numbers::At;
use fettlebook_contract::v1;
use fettlebook_contract::v1::access_service_server::AccessService;
use fettlebook_contract::v1::{
    InviteDeviceRequest, InviteDeviceResponse, ListCodesRequest, ListCodesResponse,
    ListDevicesRequest, ListDevicesResponse, PairDeviceRequest, PairDeviceResponse,
    RevokeDeviceRequest, RevokeDeviceResponse, UpdateDeviceRequest, UpdateDeviceResponse,
    WithdrawCodeRequest, WithdrawCodeResponse,
};
use tonic::{Request, Response};
use uuid::Uuid;

use super::paging::Page;
use super::parse::access::Shown;
use super::status::EdgeError;
use super::{Answer, Edge, numbers, parse, show, visit, words};
use crate::access::{Access, AccessError, Device, Invite, OpenCode, Paired, PairedByProof};
use crate::desk::DeskError;

#[tonic::async_trait]
impl AccessService for Edge {
    async fn invite_device(
        &self,
        request: Request<InviteDeviceRequest>,
    ) -> Answer<InviteDeviceResponse> {
        let by = self.caller(&request).name.to_string();
        let asked = request.get_ref();
        let invite = Invite {
            name: self.read(asked, parse::access::name(&asked.name))?,
            role: self.read(asked, parse::access::role(asked.role))?,
            by,
            at: self.read(asked, parse::access::address("address", &asked.address))?,
            again: asked.again,
            // Whoever owns one shop gives nobody a look at the others.
            office: None,
        };
        let access = self.access()?;
        let now = self.desk.now();
        let made = written(move || access.invite(&invite, now)).await?;
        Ok(Response::new(InviteDeviceResponse {
            code: made.code.to_string(),
            expire_time: Some(show::moment(made.expires_at)),
            fingerprint: made.code.fingerprint.to_string(),
            typed_code: made.typed.to_string(),
        }))
    }

    async fn pair_device(&self, request: Request<PairDeviceRequest>) -> Answer<PairDeviceResponse> {
        let access = self.access()?;
        let from = visit::from(request.extensions());
        let asked = request.into_inner();
        let shown = parse::access::shown(asked).map_err(EdgeError::from)?;
        let now = self.desk.now();
        let authority = access.authority().to_vec();
        let (device, answer) = written(move || match shown {
            Shown::Secret(code, token) => access.pair(&code, token, from, now).map(by_secret),
            Shown::Proof(code, token) => access.pair_by_proof(code, token, from, now).map(by_proof),
        })
        .await?;
        tracing::info!(device = %device.name, role = device.role.word(), "a device is paired");
        Ok(Response::new(PairDeviceResponse {
            device: Some(shown_device(device, self.life())),
            authority,
            ..answer
        }))
    }

    async fn list_codes(&self, request: Request<ListCodesRequest>) -> Answer<ListCodesResponse> {
        let asked = request.get_ref();
        let page = Page::parse("codes", &[], asked.page_size, &asked.page_token)?;
        let (access, now) = (self.access()?, self.desk.now());
        let codes = written(move || access.open_codes(now)).await?.into_iter();
        let rest = codes.filter(|code| page.comes(code.name.as_str()));
        let life = self.life();
        let (codes, next_page_token) = page.take(rest, |code| code.name.to_string());
        Ok(Response::new(ListCodesResponse {
            codes: codes
                .into_iter()
                .map(|code| shown_code(code, life))
                .collect(),
            next_page_token,
        }))
    }

    async fn withdraw_code(
        &self,
        request: Request<WithdrawCodeRequest>,
    ) -> Answer<WithdrawCodeResponse> {
        let by = self.caller(&request).name;
        let asked = request.get_ref();
        let name = self.read(asked, parse::access::name(&asked.name))?;
        let (access, now) = (self.access()?, self.desk.now());
        let code = written(move || access.withdraw_code(&name, now)).await?;
        tracing::info!(device = %code.name, %by, "a code is withdrawn");
        Ok(Response::new(WithdrawCodeResponse {
            code: Some(shown_code(code, self.life())),
        }))
    }

    async fn list_devices(
        &self,
        request: Request<ListDevicesRequest>,
    ) -> Answer<ListDevicesResponse> {
        numbers::hold(request.get_ref(), At::TOP)?;
        let access = self.access()?;
        let asked = request.into_inner();
        let page = Page::parse("devices", &[], asked.page_size, &asked.page_token)?;
        let devices = access.devices().into_iter();
        let rest = devices.filter(|device| page.comes(device.name.as_str()));
        let life = self.life();
        let (devices, next_page_token) = page.take(rest, |device| device.name.to_string());
        Ok(Response::new(ListDevicesResponse {
            devices: devices
                .into_iter()
                .map(|device| shown_device(device, life))
                .collect(),
            next_page_token,
        }))
    }

    async fn update_device(
        &self,
        request: Request<UpdateDeviceRequest>,
    ) -> Answer<UpdateDeviceResponse> {
        let by = self.caller(&request).name;
        let asked = request.get_ref();
        let name = self.read(asked, parse::access::name(&asked.name))?;
        let role = self.read(asked, parse::access::role(asked.role))?;
        let access = self.access()?;
        let device = written(move || access.set_role(&name, role)).await?;
        tracing::info!(device = %device.name, role = role.word(), %by, "a device has another role");
        Ok(Response::new(UpdateDeviceResponse {
            device: Some(shown_device(device, self.life())),
        }))
    }

    async fn revoke_device(
        &self,
        request: Request<RevokeDeviceRequest>,
    ) -> Answer<RevokeDeviceResponse> {
        let by = self.caller(&request).name;
        let asked = request.get_ref();
        let name = self.read(asked, parse::access::name(&asked.name))?;
        let access = self.access()?;
        let now = self.desk.now();
        let revoker = Arc::clone(&by);
        let device = written(move || access.revoke(&name, &revoker, now)).await?;
        tracing::info!(device = %device.name, %by, "a device is revoked");
        Ok(Response::new(RevokeDeviceResponse {
            device: Some(shown_device(device, self.life())),
        }))
    }
}

impl Edge {
    fn access(&self) -> Result<Arc<Access>, EdgeError> {
        self.access.clone().ok_or(EdgeError::TlsNeeded)
    }

    /// Which life of the book this is.
    pub(super) fn life(&self) -> Uuid {
        self.desk.standing().identity.incarnation_id
    }
}

/// Does what may have to wait for the disk. What it logs is logged as of this request.
async fn written<T: Send + 'static>(
    work: impl FnOnce() -> Result<T, AccessError> + Send + 'static,
) -> Result<T, EdgeError> {
    let span = tracing::Span::current();
    let done = tokio::task::spawn_blocking(move || span.in_scope(work)).await;
    Ok(done.map_err(|_| DeskError::Closed)??)
}

/// What a device hears that showed a long secret.
fn by_secret(paired: Paired) -> (Device, PairDeviceResponse) {
    let answer = PairDeviceResponse {
        token: paired.token.to_string(),
        book_id: paired.token.book_id.to_string(),
        ..PairDeviceResponse::default()
    };
    (paired.device, answer)
}

/// What a device hears that showed a proof.
fn by_proof(paired: PairedByProof) -> (Device, PairDeviceResponse) {
    let answer = PairDeviceResponse {
        token_start: paired.token_start,
        shop_proof: paired.shop_proof.to_vec(),
        book_id: paired.book_id.to_string(),
        ..PairDeviceResponse::default()
    };
    (paired.device, answer)
}

fn shown_code(code: OpenCode, life: Uuid) -> v1::OpenCode {
    v1::OpenCode {
        office: code.office == Some(life),
        name: code.name.to_string(),
        role: words::role_word(code.role),
        made_time: Some(show::moment(code.made_at)),
        expire_time: Some(show::moment(code.expires_at)),
        invited_by: code.invited_by,
        again: code.again,
    }
}

fn shown_device(device: Device, life: Uuid) -> v1::Device {
    v1::Device {
        office: device.office == Some(life),
        name: device.name.to_string(),
        place: device.place().to_owned(),
        role: words::role_word(device.role),
        paired_time: Some(show::moment(device.paired_at)),
        invited_by: device.invited_by,
        used_time: device.used_at.map(show::moment),
        revoked_time: device.revoked_at.map(show::moment),
        revoked_by: device.revoked_by.unwrap_or_default(),
        synced_time: device.synced_at.map(show::moment),
        version: device.version.unwrap_or_default(),
        outbox_time: device.held.map(|held| show::moment(held.said_at)),
        outbox: device.held.map(|held| v1::DeviceOutbox {
            waiting_count: held.waiting,
            parked_count: held.parked,
        }),
    }
}
