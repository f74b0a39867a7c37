//! The devices of a book: read at every request, written when one comes, changes or goes.
//!
//! It serves the look at every caller, which takes no lock and no file. What is published is on the
//! disk before; a device that is revoked, or may do less, is known to by the next request, and by
//! streams that are still open.

use std::sync::atomic::{AtomicBool, AtomicI64, Ordering};
use std::sync::{Arc, Mutex, PoisonError};

use arc_swap::ArcSwap;
use fettlebook_model::{Id, Moment};
use rustc_hash::FxHashMap;
use serde::{Deserialize, Serialize};
use tokio::sync::watch;
use uuid::Uuid;

use super::device::give_letters;
use super::paper;
use super::token::SecretHash;
use super::{AccessError, Device, Held, Role, Token};
use crate::store::{Cabinet, Paper};

const FORMAT: u32 = 1;
const SECONDS_PER_MINUTE: i64 = 60;

/// What stands in the file.
#[derive(Serialize, Deserialize)]
struct DevicesFile {
    format: u32,
    devices: Vec<Device>,
}

/// Every device of a book.
#[derive(Debug)]
pub(super) struct Registry {
    cabinet: Arc<dyn Cabinet>,
    held: ArcSwap<Seats>,
    writing: Mutex<()>,
    /// Whether a device has called since the file was written.
    used: AtomicBool,
}

type Seats = FxHashMap<Uuid, Seat>;

/// A device, with what goes on while the service runs.
#[derive(Debug, Clone)]
struct Seat {
    device: Device,
    live: Arc<Live>,
}

/// What stays the same when a device is changed.
#[derive(Debug)]
struct Live {
    /// When it last called, in seconds, to the minute; 0 for never.
    used_s: AtomicI64,
    /// What it said of itself, and when it brought its copy up.
    said: Mutex<Said>,
    /// What it may do; nothing once it is shut out.
    allowed: watch::Sender<Option<Role>>,
}

/// What a device does with what it holds.
#[derive(Debug, Clone, Default)]
struct Said {
    synced_at: Option<Moment>,
    held: Option<Held>,
    version: Option<String>,
}

/// A device that was let in.
#[derive(Debug, Clone)]
pub struct Admitted {
    /// Its name.
    pub name: Id,
    /// What it may do.
    pub role: Role,
    /// Where it works.
    pub place: Arc<str>,
    /// The letter of the tags that it gives itself.
    pub tag_letter: Option<char>,
    /// The life of the book in which it is of the office; none where it is not.
    pub office: Option<Uuid>,
    /// Tells when it may do less.
    pub revocation: Revocation,
}

/// Tells when a device is shut out, or may do less than when it was let in.
#[derive(Debug, Clone)]
pub struct Revocation {
    name: Id,
    role: Role,
    allowed: watch::Receiver<Option<Role>>,
}

impl Revocation {
    /// Waits until the device may do less, perhaps for ever, and says so.
    pub async fn come(mut self) -> AccessError {
        let held = self.role;
        let name = self.name;
        let less = |now: &Option<Role>| now.is_none_or(|role| role < held);
        let Ok(now) = self.allowed.wait_for(less).await.map(|now| *now) else {
            // The service goes, and with it whoever could change anything.
            return std::future::pending().await;
        };
        match now {
            Some(role) => AccessError::RoleLowered { name, role },
            None => AccessError::DeviceRevoked { name },
        }
    }
}

/// The devices in a cabinet, by name.
pub(super) fn read(cabinet: &dyn Cabinet) -> Result<Vec<Device>, AccessError> {
    let Some(file) = paper::read::<DevicesFile>(cabinet, Paper::Devices)? else {
        return Ok(Vec::new());
    };
    paper::check_format(cabinet, Paper::Devices, file.format, FORMAT)?;
    let mut devices = file.devices;
    give_letters(&mut devices);
    Ok(devices)
}

/// What was found by the id in a token, if the device there is let in by it. An id that nobody has costs the same
/// comparison.
pub(super) fn proven<T>(
    found: Option<T>,
    device: impl Fn(&T) -> &Device,
    token: &Token,
) -> Result<T, AccessError> {
    let wanted = found.as_ref().map(&device);
    let wanted = wanted.map_or(SecretHash::NONE, |device| device.secret);
    let right = SecretHash::of(&token.secret).is(&wanted);
    let found = found.filter(|_| right).ok_or(AccessError::TokenUnknown)?;
    let device = device(&found);
    if device.is_revoked() {
        let name = device.name.clone();
        return Err(AccessError::DeviceRevoked { name });
    }
    Ok(found)
}

impl Registry {
    /// Reads the devices in a cabinet.
    pub(super) fn open(cabinet: Arc<dyn Cabinet>) -> Result<Self, AccessError> {
        let seats = seated(read(&*cabinet)?, &Seats::default());
        Ok(Self {
            cabinet,
            held: ArcSwap::from_pointee(seats),
            writing: Mutex::default(),
            used: AtomicBool::new(false),
        })
    }

    /// Lets a device in by its token.
    pub(super) fn admit(
        &self,
        token: &Token,
        book_id: Uuid,
        now: Moment,
    ) -> Result<Admitted, AccessError> {
        if token.book_id != book_id {
            return Err(AccessError::TokenOtherBook);
        }
        let held = self.held.load();
        let seat = proven(held.get(&token.device_id), |seat| &seat.device, token)?;
        let name = seat.device.name.clone();
        let second = now.as_second();
        let minute_s = second - second.rem_euclid(SECONDS_PER_MINUTE);
        if seat.live.used_s.swap(minute_s, Ordering::Relaxed) != minute_s {
            self.used.store(true, Ordering::Relaxed);
        }
        Ok(Admitted {
            role: seat.device.role,
            place: seat.device.place().into(),
            tag_letter: seat.device.tag_letter,
            office: seat.device.office,
            revocation: Revocation {
                name: name.clone(),
                role: seat.device.role,
                allowed: seat.live.allowed.subscribe(),
            },
            name,
        })
    }

    /// Every device that is or was paired, by name and then by when it was paired.
    fn all(&self) -> Vec<Device> {
        let held = self.held.load();
        let mut devices: Vec<Device> = held.values().map(Seat::device_now).collect();
        devices.sort_by(in_order);
        devices
    }

    /// Notes what a device holds that the book does not have.
    pub(super) fn note_held(&self, name: &str, held: Held) {
        self.note(name, |said| said.held = Some(held));
    }

    /// Notes which version of its program a device runs.
    pub(super) fn note_version(&self, name: &str, version: &str) {
        self.note(name, |said| said.version = Some(version.to_owned()));
    }

    /// Notes that a device brought its copy up.
    pub(super) fn note_synced(&self, name: &str, now: Moment) {
        self.note(name, |said| said.synced_at = Some(now));
    }

    fn note(&self, name: &str, note: impl FnOnce(&mut Said)) {
        let held = self.held.load();
        let mut seats = held.values();
        let seat =
            seats.find(|seat| seat.device.name.as_str() == name && !seat.device.is_revoked());
        if let Some(seat) = seat {
            note(
                &mut seat
                    .live
                    .said
                    .lock()
                    .unwrap_or_else(PoisonError::into_inner),
            );
            self.used.store(true, Ordering::Relaxed);
        }
    }

    /// Every device as it is now, by name: of those that had one name in turn the last.
    pub(super) fn devices(&self) -> Vec<Device> {
        let mut devices = self.all();
        devices.dedup_by(|later, first| {
            let is_one = later.name == first.name;
            if is_one {
                first.clone_from(later);
            }
            is_one
        });
        devices
    }

    /// The device that has a name, or had it last.
    pub(super) fn named(&self, name: &Id) -> Option<Device> {
        let mut devices = self.devices().into_iter();
        devices.find(|device| device.name == *name)
    }

    /// Adds a device. With `again` whoever has its name is shut out; else nobody may have had it.
    pub(super) fn add(&self, device: Device, again: bool) -> Result<(), AccessError> {
        self.change(|devices| {
            for held in devices.iter_mut().filter(|held| held.name == device.name) {
                if !again {
                    return Err(AccessError::NameTaken { name: device.name });
                }
                if !held.is_revoked() {
                    held.revoked_at = Some(device.paired_at);
                    held.revoked_by = Some(device.invited_by.clone());
                }
            }
            devices.push(device);
            Ok(())
        })
    }

    /// Gives a device another role.
    pub(super) fn set_role(&self, name: &Id, role: Role) -> Result<Device, AccessError> {
        self.change(|devices| {
            let device = of_name(devices, name)?;
            if device.is_revoked() {
                return Err(AccessError::DeviceGone { name: name.clone() });
            }
            device.role = role;
            Ok(device.clone())
        })
    }

    /// Shuts a device out.
    pub(super) fn revoke(&self, name: &Id, by: &str, now: Moment) -> Result<Device, AccessError> {
        self.change(|devices| {
            let device = of_name(devices, name)?;
            if !device.is_revoked() {
                device.revoked_at = Some(now);
                device.revoked_by = Some(by.to_owned());
            }
            Ok(device.clone())
        })
    }

    /// Writes down when devices last called.
    pub(super) fn save_used(&self) -> Result<(), AccessError> {
        if !self.used.swap(false, Ordering::Relaxed) {
            return Ok(());
        }
        let saved = self.change(|_| Ok(()));
        if saved.is_err() {
            self.used.store(true, Ordering::Relaxed);
        }
        saved
    }

    /// Changes the list: first on the disk, then for everyone.
    fn change<T>(
        &self,
        edit: impl FnOnce(&mut Vec<Device>) -> Result<T, AccessError>,
    ) -> Result<T, AccessError> {
        let _turn = self.writing.lock().unwrap_or_else(PoisonError::into_inner);
        let mut devices = self.all();
        let before = devices.clone();
        let done = edit(&mut devices)?;
        leave_an_owner(&before, &devices)?;
        give_letters(&mut devices);
        devices.sort_by(in_order);
        let file = DevicesFile {
            format: FORMAT,
            devices,
        };
        paper::write(&*self.cabinet, Paper::Devices, &file)?;
        let seats = seated(file.devices, &self.held.load());
        self.held.store(Arc::new(seats));
        // After it is published: whoever comes in between is let in by neither.
        for seat in self.held.load().values() {
            let allowed = seat.device.allowed();
            seat.live.allowed.send_if_modified(|held| {
                let news = *held != allowed;
                *held = allowed;
                news
            });
        }
        Ok(done)
    }
}

impl Seat {
    /// The device, with when it last called.
    fn device_now(&self) -> Device {
        let used_s = self.live.used_s.load(Ordering::Relaxed);
        let used_at = Moment::from_second(used_s).ok().filter(|_| used_s != 0);
        let said = self
            .live
            .said
            .lock()
            .unwrap_or_else(PoisonError::into_inner)
            .clone();
        Device {
            used_at,
            synced_at: said.synced_at,
            held: said.held,
            version: said.version,
            ..self.device.clone()
        }
    }
}

/// A seat for each device; what goes on is kept.
fn seated(devices: Vec<Device>, before: &Seats) -> Seats {
    let seat = |device: Device| {
        let live = match before.get(&device.id) {
            Some(seat) => Arc::clone(&seat.live),
            None => Arc::new(Live {
                used_s: AtomicI64::new(device.used_at.map_or(0, Moment::as_second)),
                said: Mutex::new(Said {
                    synced_at: device.synced_at,
                    held: device.held,
                    version: device.version.clone(),
                }),
                allowed: watch::Sender::new(device.allowed()),
            }),
        };
        (device.id, Seat { device, live })
    };
    devices.into_iter().map(seat).collect()
}

/// Refuses to give the name of the only device that owns the shop to one that does not.
pub(super) fn still_owned(devices: &[Device], name: &Id) -> Result<(), AccessError> {
    let others = devices.iter().filter(|device| device.name != *name);
    leave_an_owner(devices, &others.cloned().collect::<Vec<_>>())
}

/// Refuses to take the role own from the only device that has it.
fn leave_an_owner(before: &[Device], after: &[Device]) -> Result<(), AccessError> {
    let owns = |device: &&Device| device.allowed() == Some(Role::Own);
    match before.iter().find(owns) {
        Some(owner) if !after.iter().any(|device| owns(&device)) => Err(AccessError::LastOwner {
            name: owner.name.clone(),
        }),
        _ => Ok(()),
    }
}

/// By name, and of one name the last that was paired last: ids are given in the order of time.
fn in_order(one: &Device, other: &Device) -> std::cmp::Ordering {
    let by_time = || (one.paired_at, one.id).cmp(&(other.paired_at, other.id));
    one.name.cmp(&other.name).then_with(by_time)
}

/// The device that has a name, or had it last.
fn of_name<'a>(devices: &'a mut [Device], name: &Id) -> Result<&'a mut Device, AccessError> {
    let mut backwards = devices.iter_mut().rev();
    let found = backwards.find(|device| device.name == *name);
    found.ok_or_else(|| AccessError::DeviceUnknown { name: name.clone() })
}
