//! The devices of the bench and the people who sign on them: paired by six digits, named, ended; of tokens and codes
//! only hashes are kept, in the book, so that who was let in and when stays readable in its history.

use crate::{App, AppError, FORM_VERSION, now};
use argon2::Argon2;
use book::{Kind, Save, SaveError};
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};
use std::collections::HashMap;
use std::sync::{Mutex, PoisonError};
use std::time::{Duration, Instant};

/// How long six digits may be used.
pub const PAIRING_LASTS: Duration = Duration::from_secs(120);
/// Wrong digits after which the right ones are worth nothing.
pub const MOST_WRONG_DIGITS: u32 = 5;
/// Wrong codes in a row after which a person's code isn't looked at for a while.
pub const MOST_WRONG_CODES: u32 = 5;
/// For how long it isn't.
pub const CODE_RESTS: Duration = Duration::from_secs(600);
/// Shortest and longest code of a person, characters.
const CODE_LENGTH: std::ops::RangeInclusive<usize> = 4..=20;
/// Longest name of a device or person, characters.
const NAME_LENGTH: usize = 100;
/// Devices, and people, that a book keeps.
const MOST: usize = 200;
/// The lasting name in the book.
const THING: &str = "devices";
/// Times that a change is made again on what somebody else saved in between.
const MOST_TRIES: usize = 32;

/// A device that is let in at the bench.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Device {
    /// Stands for it on pages.
    pub id: String,
    /// What people call it; stands on what is entered over it.
    pub name: String,
    /// When it was paired.
    pub paired: String,
    /// Hash of what it shows to be let in.
    token: String,
    /// People who have signed in on it.
    #[serde(default)]
    pub signed_in: Vec<String>,
}

/// A person who signs at the bench with a short code.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Signer {
    /// The name that stands on entries.
    pub name: String,
    /// When the code was set.
    pub since: String,
    salt: String,
    code: String,
}

/// Devices and people, as the book has them.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Devices {
    /// The devices that are let in.
    #[serde(default)]
    pub devices: Vec<Device>,
    /// The people who have a code.
    #[serde(default)]
    pub people: Vec<Signer>,
}

/// Six digits that let one device in.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Pairing {
    /// The digits.
    pub digits: String,
    /// For how long yet.
    pub left: Duration,
}

/// What is known while the program runs, and gone with it.
#[derive(Debug, Default)]
pub(crate) struct Known(Mutex<Held>);

#[derive(Debug, Default)]
struct Held {
    offer: Option<Offer>,
    /// By name: wrong codes in a row, and when the last was.
    wrong_codes: HashMap<String, (u32, Instant)>,
}

#[derive(Debug)]
struct Offer {
    digits: String,
    until: Instant,
    tries_left: u32,
}

impl Known {
    fn with<T>(&self, work: impl FnOnce(&mut Held) -> T) -> T {
        work(&mut self.0.lock().unwrap_or_else(PoisonError::into_inner))
    }
}

impl App {
    /// The devices and people.
    ///
    /// # Errors
    /// What the storage tells; a list that can't be understood.
    pub async fn devices(&self) -> Result<Devices, AppError> {
        Ok(self.devices_at().await?.0)
    }

    async fn devices_at(&self) -> Result<(Devices, Option<u64>), AppError> {
        let Some(newest) = self.book.newest(Kind::Setting, THING).await? else {
            return Ok((Devices::default(), None));
        };
        let devices = match newest.form.as_str() {
            "" => Devices::default(),
            form => serde_json::from_str(form).map_err(|error| AppError::Value {
                field: "devices".to_owned(),
                why: format!(
                    "the list in the book can’t be understood ({error}); restore an earlier one"
                ),
            })?,
        };
        Ok((devices, Some(newest.entry.number)))
    }

    /// Makes six digits that let one device in within a time, usually [`PAIRING_LASTS`]. Digits made before are worth
    /// nothing any more.
    ///
    /// # Errors
    /// A computer that gives no random numbers.
    pub fn offer_pairing(&self, lasting: Duration) -> Result<Pairing, AppError> {
        let number = u64::from_le_bytes(random()?) % 1_000_000;
        let digits = format!("{number:06}");
        self.known.with(|held| {
            held.offer = Some(Offer {
                digits: digits.clone(),
                until: Instant::now() + lasting,
                tries_left: MOST_WRONG_DIGITS,
            });
        });
        Ok(Pairing {
            digits,
            left: lasting,
        })
    }

    /// The digits that a device may use now, if there are any.
    pub fn pairing(&self) -> Option<Pairing> {
        let now = Instant::now();
        self.known.with(|held| {
            let offer = held.offer.as_ref().filter(|offer| offer.until > now)?;
            Some(Pairing {
                digits: offer.digits.clone(),
                left: offer.until - now,
            })
        })
    }

    /// Pairs a device: gives it with what it has to show from now on, which is told this once. Digits work once; after
    /// [`MOST_WRONG_DIGITS`] wrong ones they are worth nothing.
    ///
    /// # Errors
    /// Digits that aren't the ones shown, or are no longer; a name that is taken; what the book tells.
    pub async fn pair(&self, digits: &str, name: &str) -> Result<(Device, String), AppError> {
        let name = name_of("name of the device", name)?;
        let before = self.devices().await?;
        let taken = |devices: &Devices| devices.devices.iter().any(|d| d.name == name);
        let another = || {
            wrong(
                "name of the device",
                "another device is called so; give it another name",
            )
        };
        if taken(&before) {
            return Err(another());
        }
        if before.devices.len() >= MOST {
            return Err(wrong(
                "device",
                "too many are paired; end one that isn’t used any more",
            ));
        }
        self.take_digits(digits)?;
        let token = hexadecimal(&random::<32>()?);
        let device = Device {
            id: hexadecimal(&random::<8>()?),
            name: name.clone(),
            paired: now(),
            token: hash(&token),
            signed_in: Vec::new(),
        };
        let desk = self.settings().await?.who;
        self.change_devices(&desk, &format!("‘{name}’ was paired"), |devices| {
            if taken(devices) {
                return Err(another());
            }
            devices.devices.push(device.clone());
            Ok(())
        })
        .await?;
        Ok((device, token))
    }

    /// Takes the digits off the table if they are the right ones.
    fn take_digits(&self, digits: &str) -> Result<(), AppError> {
        let typed: String = digits.chars().filter(|c| !c.is_whitespace()).collect();
        self.known.with(|held| {
            let open = held.offer.take().filter(|offer| offer.until > Instant::now());
            let Some(mut offer) = open else {
                return Err(wrong(
                    "six digits",
                    "none can be used now: they last two minutes and work once. Ask for new ones at the desk, in Settings under Devices",
                ));
            };
            if same(&typed, &offer.digits) {
                return Ok(());
            }
            offer.tries_left -= 1;
            let why = match offer.tries_left {
                0 => format!(
                    "they weren’t the ones shown, {MOST_WRONG_DIGITS} times. Those shown are worth nothing any more: ask for new ones at the desk"
                ),
                left => format!("they aren’t the ones shown at the desk. Look again; tries left: {left}"),
            };
            if offer.tries_left > 0 {
                held.offer = Some(offer);
            }
            Err(wrong("six digits", why))
        })
    }

    /// The device that shows a token; none where it was never paired or was ended.
    ///
    /// # Errors
    /// What the storage tells.
    pub async fn device_with(&self, token: &str) -> Result<Option<Device>, AppError> {
        if token.len() != 64 {
            return Ok(None);
        }
        let hash = hash(token);
        let devices = self.devices().await?.devices;
        Ok(devices
            .into_iter()
            .find(|device| same(&device.token, &hash)))
    }

    /// Ends a device: it is let in no more.
    ///
    /// # Errors
    /// No such device; what the book tells.
    pub async fn end_device(&self, id: &str) -> Result<(), AppError> {
        let desk = self.settings().await?.who;
        self.change_devices(&desk, "a device was ended", |devices| {
            let before = devices.devices.len();
            devices.devices.retain(|device| device.id != id);
            match devices.devices.len() < before {
                true => Ok(()),
                false => Err(wrong("device", "it was ended already")),
            }
        })
        .await
    }

    /// Gives a person a code to sign with at the bench, or another one; whoever signed in with the one before has to
    /// again.
    ///
    /// # Errors
    /// A name or code that can't be; what the book tells.
    pub async fn set_code(&self, name: &str, code: &str) -> Result<(), AppError> {
        let name = name_of("name", name)?;
        let code = code.trim().to_owned();
        if !CODE_LENGTH.contains(&code.chars().count()) || code.contains(char::is_control) {
            let (least, most) = (CODE_LENGTH.start(), CODE_LENGTH.end());
            let why =
                format!("give {least} to {most} characters that can be typed with floury hands");
            return Err(wrong("code", why));
        }
        let salt = hexadecimal(&random::<16>()?);
        let code = hash_of_code(code, salt.clone()).await?;
        let signer = Signer {
            name: name.clone(),
            since: now(),
            salt,
            code,
        };
        let desk = self.settings().await?.who;
        self.change_devices(&desk, &format!("‘{name}’ got a code"), |devices| {
            devices.forget(&name);
            if devices.people.len() >= MOST {
                return Err(wrong("name", "too many people have a code; take one away"));
            }
            devices.people.push(signer.clone());
            Ok(())
        })
        .await?;
        self.known.with(|held| held.wrong_codes.remove(&name));
        Ok(())
    }

    /// Takes a person's code away.
    ///
    /// # Errors
    /// Nobody of that name; what the book tells.
    pub async fn take_code(&self, name: &str) -> Result<(), AppError> {
        let desk = self.settings().await?.who;
        let why = format!("the code of ‘{name}’ was taken away");
        self.change_devices(&desk, &why, |devices| match devices.forget(name) {
            true => Ok(()),
            false => Err(wrong("name", "nobody of that name has a code")),
        })
        .await
    }

    /// A person signs in on a device with name and code; what bears the name is then taken from it.
    ///
    /// # Errors
    /// A wrong name or code; a code that rests after too many wrong ones; what the book tells.
    pub async fn sign_in(&self, device: &Device, name: &str, code: &str) -> Result<(), AppError> {
        let name = name.trim();
        let people = self.devices().await?.people;
        let Some(signer) = people.into_iter().find(|signer| signer.name == name) else {
            let why = "nobody of that name has a code; one is given at the desk, in Settings under Devices";
            return Err(wrong("name", why));
        };
        // Counted before it is looked at, so that many at once don't get more tries.
        self.known.with(|held| {
            let (wrong, last) = held
                .wrong_codes
                .entry(signer.name.clone())
                .or_insert((0, Instant::now()));
            let rested = last.elapsed();
            if *wrong >= MOST_WRONG_CODES && rested < CODE_RESTS {
                let minutes = (CODE_RESTS - rested).as_secs().div_ceil(60);
                return Err(AppError::Rests { minutes });
            }
            if *wrong >= MOST_WRONG_CODES {
                *wrong = 0;
            }
            (*wrong, *last) = (*wrong + 1, Instant::now());
            Ok(())
        })?;
        let typed = hash_of_code(code.trim().to_owned(), signer.salt.clone()).await?;
        if !same(&typed, &signer.code) {
            return Err(wrong(
                "code",
                "it isn’t the one of that name; type it again",
            ));
        }
        self.known.with(|held| held.wrong_codes.remove(name));
        self.change_devices(
            name,
            &format!("‘{name}’ signed in on ‘{}’", device.name),
            |devices| {
                let Some(here) = devices.devices.iter_mut().find(|d| d.id == device.id) else {
                    return Err(wrong("device", "it was ended; pair it again"));
                };
                if !here.signed_in.iter().any(|n| n == name) {
                    here.signed_in.push(name.to_owned());
                }
                Ok(())
            },
        )
        .await
    }

    /// A person leaves a device; what bears the name is taken from it no more.
    ///
    /// # Errors
    /// What the book tells.
    pub async fn sign_out(&self, device: &Device, name: &str) -> Result<(), AppError> {
        let why = format!("‘{name}’ left ‘{}’", device.name);
        self.change_devices(name, &why, |devices| {
            for here in devices.devices.iter_mut().filter(|d| d.id == device.id) {
                here.signed_in.retain(|n| n != name);
            }
            Ok(())
        })
        .await
    }

    /// Changes the list as it stands, again on what somebody else saved in between.
    async fn change_devices(
        &self,
        who: &str,
        why: &str,
        change: impl Fn(&mut Devices) -> Result<(), AppError>,
    ) -> Result<(), AppError> {
        for _ in 0..MOST_TRIES {
            let (before, base) = self.devices_at().await?;
            let mut devices = before.clone();
            change(&mut devices)?;
            if devices == before {
                return Ok(());
            }
            let form =
                serde_json::to_string(&devices).map_err(|e| AppError::BrokenOff(e.to_string()))?;
            let save = Save {
                kind: Kind::Setting,
                thing: THING.to_owned(),
                base,
                who: who.to_owned(),
                when: now(),
                why: Some(why.to_owned()),
                title: "Devices of the bench".to_owned(),
                form_version: FORM_VERSION,
                form,
            };
            match self.book.save(save).await {
                Ok(_) => return Ok(()),
                Err(SaveError::Stale { .. }) => {}
                Err(other) => return Err(other.into()),
            }
        }
        Err(AppError::Busy)
    }
}

impl Devices {
    /// Takes a person out, and off all devices; says whether there was one.
    fn forget(&mut self, name: &str) -> bool {
        let before = self.people.len();
        self.people.retain(|signer| signer.name != name);
        for device in &mut self.devices {
            device.signed_in.retain(|n| n != name);
        }
        self.people.len() < before
    }
}

fn wrong(field: &str, why: impl Into<String>) -> AppError {
    AppError::Value {
        field: field.to_owned(),
        why: why.into(),
    }
}

fn name_of(field: &str, text: &str) -> Result<String, AppError> {
    let name = text.trim();
    if name.is_empty() || name.chars().count() > NAME_LENGTH || name.contains(char::is_control) {
        let why = format!("give 1 to {NAME_LENGTH} letters that can be seen");
        return Err(wrong(field, why));
    }
    Ok(name.to_owned())
}

fn random<const BYTES: usize>() -> Result<[u8; BYTES], AppError> {
    let mut bytes = [0; BYTES];
    getrandom::fill(&mut bytes).map_err(|error| AppError::BrokenOff(error.to_string()))?;
    Ok(bytes)
}

fn hexadecimal(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}

/// The hash of a secret that is long and random, so that nobody guesses it from its hash.
fn hash(secret: &str) -> String {
    hexadecimal(&Sha256::digest(secret))
}

/// The hash of a code that people can remember, made dear to guess: Argon2id with 19 MiB and two passes (RFC 9106 tells
/// the function; the cost is common practice, no source).
async fn hash_of_code(code: String, salt: String) -> Result<String, AppError> {
    let hashed = tokio::task::spawn_blocking(move || {
        let mut out = [0; 32];
        Argon2::default()
            .hash_password_into(code.as_bytes(), salt.as_bytes(), &mut out)
            .map(|()| hexadecimal(&out))
    });
    match hashed.await {
        Ok(Ok(hash)) => Ok(hash),
        Ok(Err(error)) => Err(AppError::BrokenOff(error.to_string())),
        Err(error) => Err(AppError::BrokenOff(error.to_string())),
    }
}

/// Whether two secrets are the same, in a time that doesn't tell how far they are.
fn same(a: &str, b: &str) -> bool {
    let differ = |all, (a, b): (u8, u8)| all | (a ^ b);
    a.len() == b.len() && a.bytes().zip(b.bytes()).fold(0, differ) == 0
}
