//! Random tokens and ids, and the files that hold private keys.

use base64::{Engine, engine::general_purpose::URL_SAFE_NO_PAD};
use ledger::Digest;
use std::io::Write as _;
use std::path::Path;
use std::{fs, io};

/// Draws random bytes from the operating system.
pub(crate) fn random<const N: usize>() -> [u8; N] {
    let mut bytes = [0; N];
    getrandom::fill(&mut bytes).expect("the operating system has random bytes");
    bytes
}

/// A token of 192 random bits, as text for a link or cookie. Only its [digest](token_digest) is kept.
pub(crate) fn token() -> String {
    URL_SAFE_NO_PAD.encode(random::<24>())
}

/// What is kept of a token.
pub(crate) fn token_digest(token: &str) -> Digest {
    Digest::of(token.as_bytes())
}

/// A short random id with a prefix: `p-1f0c…`.
pub(crate) fn id(prefix: &str) -> String {
    let digits: String = random::<6>().iter().map(|byte| format!("{byte:02x}")).collect();
    format!("{prefix}-{digits}")
}

/// Reads a 32-byte secret from a file that only its owner may read, or draws and keeps a new one.
pub(crate) fn seed_file(path: &Path) -> io::Result<[u8; 32]> {
    if let Some(seed) = seed_if_there(path)? {
        return Ok(seed);
    }
    let seed = random::<32>();
    write_private(path, &seed)?;
    Ok(seed)
}

/// Reads a 32-byte secret if its file is there.
pub(crate) fn seed_if_there(path: &Path) -> io::Result<Option<[u8; 32]>> {
    match fs::read(path) {
        Ok(bytes) => bytes.try_into().map(Some).map_err(|_| {
            io::Error::other(format!("{}: expected a key of 32 bytes", path.display()))
        }),
        Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(None),
        Err(error) => Err(error),
    }
}

/// Writes a file with mode 0600 and waits until it and its folder entry are on the disk.
fn write_private(path: &Path, bytes: &[u8]) -> io::Result<()> {
    let mut options = fs::OpenOptions::new();
    options.write(true).create_new(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    let mut file = options.open(path)?;
    file.write_all(bytes)?;
    file.sync_all()?;
    match path.parent() {
        Some(folder) => fs::File::open(folder)?.sync_all(),
        None => Ok(()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_key_file_is_made_once_and_for_its_owner_only() {
        let folder = std::env::temp_dir().join(id("rattlewatch-secret"));
        fs::create_dir(&folder).unwrap();
        let path = folder.join("device.key");
        let seed = seed_file(&path).unwrap();
        assert_eq!(seed_file(&path).unwrap(), seed);
        #[cfg(unix)]
        {
            let mode = std::os::unix::fs::PermissionsExt::mode(
                &fs::metadata(&path).unwrap().permissions(),
            );
            assert_eq!(mode & 0o777, 0o600);
        }
        fs::write(&path, b"short").unwrap();
        assert!(seed_file(&path).unwrap_err().to_string().contains("32 bytes"));
        fs::remove_dir_all(&folder).unwrap();
    }
}
