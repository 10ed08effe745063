//! The local authority that vouches for the tablets' door, and the certificates it gives.
//!
//! Its key and certificate lie beside the book in `NAME.authority`, for the person alone. A door's certificate names all
//! addresses of this computer and lives in memory: it is made at the start, when an address comes, and long before it
//! runs out.

use crate::running::private;
use rcgen::{
    BasicConstraints, CertificateParams, DnType, ExtendedKeyUsagePurpose, IsCa, Issuer, KeyPair,
    KeyUsagePurpose, date_time_ymd,
};
use rustls::pki_types::pem::PemObject;
use rustls::pki_types::{CertificateDer, PrivateKeyDer, PrivatePkcs8KeyDer};
use sha2::{Digest, Sha256};
use std::io::Write;
use std::path::{Path, PathBuf};
use std::time::{Duration, SystemTime, UNIX_EPOCH};

const DAY: Duration = Duration::from_secs(24 * 60 * 60);
/// How long an authority is good.
const AUTHORITY_LASTS: Duration = Duration::from_secs(3650 * DAY.as_secs());
/// An authority that is good for less than this is followed by a new one.
const AUTHORITY_AT_LEAST: Duration = Duration::from_secs(400 * DAY.as_secs());
/// How long a certificate of the door is good: what makers of browsers take at most (825 days for an authority that
/// people put in themselves; from memory, to be confirmed).
const CERTIFICATE_LASTS: Duration = Duration::from_secs(397 * DAY.as_secs());
/// The line in the file that tells, in seconds since 1970, until when it is good.
const UNTIL: &str = "good until ";

/// What vouches for the door, and can be given to a tablet.
#[derive(Debug)]
pub(crate) struct Authority {
    key: KeyPair,
    certificate: CertificateDer<'static>,
}

/// A certificate with the ones that vouch for it, and its key.
pub(crate) type Shown = (Vec<CertificateDer<'static>>, PrivateKeyDer<'static>);

impl Authority {
    /// The authority beside a book; made where there is none, or where it soon runs out.
    pub(crate) fn beside(book: &Path) -> Result<Self, String> {
        let mut name = book.as_os_str().to_owned();
        name.push(".authority");
        let path = PathBuf::from(name);
        let told = |what: &dyn std::fmt::Display| format!("{}: {what}", path.display());
        match std::fs::read_to_string(&path) {
            Ok(text) => {
                let until = text
                    .lines()
                    .find_map(|line| line.strip_prefix(UNTIL)?.parse().ok());
                let until = Duration::from_secs(until.unwrap_or(0));
                if until > since_1970() + AUTHORITY_AT_LEAST {
                    let key = KeyPair::from_pem(&text).map_err(|e| told(&e))?;
                    let certificate =
                        CertificateDer::from_pem_slice(text.as_bytes()).map_err(|e| told(&e))?;
                    return Ok(Self { key, certificate });
                }
            }
            Err(error) if error.kind() == std::io::ErrorKind::NotFound => {}
            Err(error) => return Err(told(&error)),
        }
        let key = KeyPair::generate().map_err(|e| told(&e))?;
        let certificate = of_authority(&key)
            .and_then(|params| params.self_signed(&key))
            .map_err(|e| told(&e))?;
        let until = (since_1970() + AUTHORITY_LASTS).as_secs();
        let text = format!(
            "{UNTIL}{until}\n{}{}",
            key.serialize_pem(),
            certificate.pem()
        );
        put(&path, &text).map_err(|e| told(&e))?;
        Ok(Self {
            key,
            certificate: certificate.der().clone(),
        })
    }

    /// Its certificate.
    pub(crate) fn certificate(&self) -> &[u8] {
        &self.certificate
    }

    /// A new certificate for a computer of these addresses and names.
    pub(crate) fn certify(&self, names: &[String]) -> Result<Shown, rcgen::Error> {
        let key = KeyPair::generate()?;
        let mut params = CertificateParams::new(names)?;
        params
            .distinguished_name
            .push(DnType::CommonName, "Hardtack at the bench");
        lasting(&mut params, CERTIFICATE_LASTS);
        params.key_usages = vec![KeyUsagePurpose::DigitalSignature];
        params.extended_key_usages = vec![ExtendedKeyUsagePurpose::ServerAuth];
        params.use_authority_key_identifier_extension = true;
        let issuer = Issuer::new(of_authority(&self.key)?, &self.key);
        let certificate = params.signed_by(&key, &issuer)?;
        let key = PrivatePkcs8KeyDer::from(key.serialize_der());
        let chain = vec![certificate.der().clone(), self.certificate.clone()];
        Ok((chain, key.into()))
    }
}

/// What the authority's certificate says; its name has the beginning of its key's hash in it, so that two are told apart.
fn of_authority(key: &KeyPair) -> Result<CertificateParams, rcgen::Error> {
    let mark: String = fingerprint(key.public_key_raw()).chars().take(11).collect();
    let mut params = CertificateParams::new(Vec::<String>::new())?;
    params.distinguished_name.push(
        DnType::CommonName,
        format!("Hardtack bench authority {mark}"),
    );
    params.is_ca = IsCa::Ca(BasicConstraints::Constrained(0));
    params.key_usages = vec![KeyUsagePurpose::KeyCertSign, KeyUsagePurpose::CrlSign];
    lasting(&mut params, AUTHORITY_LASTS);
    Ok(params)
}

/// A SHA-256 hash as people compare it: pairs of capitals with colons.
pub(crate) fn fingerprint(bytes: &[u8]) -> String {
    let pairs: Vec<String> = Sha256::digest(bytes)
        .iter()
        .map(|byte| format!("{byte:02X}"))
        .collect();
    pairs.join(":")
}

/// One's own certificate and key, as files in PEM.
pub(crate) fn own(certificate: &Path, key: &Path) -> Result<Shown, String> {
    let told = |path: &Path, what: &dyn std::fmt::Display| format!("{}: {what}", path.display());
    let chain = CertificateDer::pem_file_iter(certificate)
        .and_then(Iterator::collect::<Result<Vec<_>, _>>)
        .map_err(|e| told(certificate, &e))?;
    if chain.is_empty() {
        return Err(told(certificate, &"there is no certificate in it"));
    }
    let key = PrivateKeyDer::from_pem_file(key).map_err(|e| told(key, &e))?;
    Ok((chain, key))
}

fn since_1970() -> Duration {
    SystemTime::now()
        .duration_since(UNIX_EPOCH)
        .unwrap_or_default()
}

/// Good from yesterday, as clocks differ, for a time.
fn lasting(params: &mut CertificateParams, time: Duration) {
    let now = date_time_ymd(1970, 1, 1) + since_1970();
    params.not_before = now - DAY;
    params.not_after = now + time;
}

/// Writes a file for the person alone, whole or not at all.
fn put(path: &Path, text: &str) -> std::io::Result<()> {
    let mut part = path.as_os_str().to_owned();
    part.push(".part");
    let part = PathBuf::from(part);
    let _a_broken_off_one = std::fs::remove_file(&part);
    let mut file = private().create_new(true).open(&part)?;
    file.write_all(text.as_bytes())?;
    file.sync_all()?;
    std::fs::rename(&part, path)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_authority_stays_the_same_and_is_for_the_person_alone() {
        let folder = tempfile::tempdir().unwrap();
        let book = folder.path().join("lab.book");
        let first = Authority::beside(&book).unwrap();
        let again = Authority::beside(&book).unwrap();
        assert_eq!(first.certificate(), again.certificate());
        let (chain, _) = again
            .certify(&["192.168.1.7".to_owned(), "oven.local".to_owned()])
            .unwrap();
        assert_eq!(chain.len(), 2);
        let path = folder.path().join("lab.book.authority");
        #[cfg(unix)]
        {
            use std::os::unix::fs::PermissionsExt;
            let mode = std::fs::metadata(&path).unwrap().permissions().mode();
            assert_eq!(mode & 0o777, 0o600);
        }
        // One that soon runs out is followed by another.
        let text = std::fs::read_to_string(&path).unwrap();
        let soon = (since_1970() + AUTHORITY_AT_LEAST).as_secs() - 1;
        let line = text.lines().next().unwrap();
        std::fs::write(&path, text.replace(line, &format!("{UNTIL}{soon}"))).unwrap();
        assert_ne!(
            Authority::beside(&book).unwrap().certificate(),
            first.certificate()
        );
        // What can't be read is told, not overwritten.
        std::fs::write(&path, format!("{UNTIL}99999999999\nnonsense")).unwrap();
        assert!(
            Authority::beside(&book)
                .unwrap_err()
                .contains("lab.book.authority")
        );
    }
}
