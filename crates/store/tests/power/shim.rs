//! A SQLite file layer that records writes, truncations and syncs, and fails when told to. All else
//! is the system's own layer: its methods are copied and three of them replaced.
#![expect(unsafe_code, reason = "SQLite's file layer is a C interface")]

use libsqlite3_sys::{
    SQLITE_FULL, SQLITE_IOERR_FSYNC, SQLITE_IOERR_WRITE, SQLITE_OK, sqlite3_file,
    sqlite3_io_methods, sqlite3_vfs, sqlite3_vfs_find, sqlite3_vfs_register,
};
use std::collections::BTreeMap;
use std::ffi::{CStr, c_char, c_int, c_void};
use std::sync::{Mutex, MutexGuard, OnceLock};

/// The name to open stores with.
pub(crate) const NAME: &CStr = c"recorded";

/// One call that changes files, in the order they were made.
#[derive(Debug, Clone)]
pub(crate) enum Call {
    Write { file: String, offset: u64, bytes: Vec<u8> },
    Truncate { file: String, size: u64 },
    Sync { file: String },
    Delete { file: String },
}

/// How a call fails.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Failure {
    /// No room, for this call only or from here on.
    Full { for_good: bool },
    /// The device fails: a write is refused, or a sync.
    Device { for_good: bool },
}

#[derive(Default)]
pub(crate) struct Recorder {
    pub(crate) calls: Vec<Call>,
    pub(crate) recording: bool,
    /// Calls since the count was set to zero.
    pub(crate) count: u64,
    pub(crate) fail_at: Option<(u64, Failure)>,
    /// Whether a call was made to fail, and whether it was a sync.
    pub(crate) failed: Option<bool>,
    names: BTreeMap<usize, String>,
}

pub(crate) fn recorder() -> MutexGuard<'static, Recorder> {
    static RECORDER: OnceLock<Mutex<Recorder>> = OnceLock::new();
    RECORDER.get_or_init(Mutex::default).lock().expect("no test panics while it records")
}

impl Recorder {
    /// Counts a call and says how it fails, if it does.
    fn count(&mut self, sync: bool) -> Option<c_int> {
        self.count += 1;
        let (at, failure) = self.fail_at?;
        let (Failure::Full { for_good } | Failure::Device { for_good }) = failure;
        let now = if for_good { self.count >= at } else { self.count == at };
        let code = match (failure, sync) {
            // A full disk shows when writing, not when syncing.
            (Failure::Full { .. }, true) => return None,
            (Failure::Full { .. }, false) => SQLITE_FULL,
            (Failure::Device { .. }, true) => SQLITE_IOERR_FSYNC,
            (Failure::Device { .. }, false) => SQLITE_IOERR_WRITE,
        };
        if now {
            self.failed = Some(self.failed.unwrap_or(false) || sync);
        }
        now.then_some(code)
    }

    fn record(&mut self, file: *mut sqlite3_file, call: impl FnOnce(String) -> Call) {
        if self.recording
            && let Some(name) = self.names.get(&(file as usize))
        {
            self.calls.push(call(name.clone()));
        }
    }
}

struct Layer {
    base: *mut sqlite3_vfs,
    /// The system's methods; those for writing are the same for every file.
    methods: OnceLock<sqlite3_io_methods>,
    /// Ours, by the address of those they stand for: databases and journals are locked differently.
    ours: Mutex<BTreeMap<usize, &'static sqlite3_io_methods>>,
}

// SAFETY: the base layer is never changed after it was found and SQLite calls it from any thread.
unsafe impl Send for Layer {}
// SAFETY: as above.
unsafe impl Sync for Layer {}

static LAYER: OnceLock<Layer> = OnceLock::new();

/// Makes the layer known to SQLite.
pub(crate) fn register() {
    // SAFETY: a null name asks for the default layer, which lives as long as the process. Ours is a
    // copy of it under another name and lives as long, since it is leaked.
    unsafe {
        let base = sqlite3_vfs_find(std::ptr::null());
        assert!(!base.is_null());
        assert!(
            LAYER.set(Layer { base, methods: OnceLock::new(), ours: Mutex::default() }).is_ok(),
            "registered twice"
        );
        let ours = Box::leak(Box::new(*base));
        ours.pNext = std::ptr::null_mut();
        ours.zName = NAME.as_ptr();
        ours.xOpen = Some(open);
        ours.xDelete = Some(delete);
        assert_eq!(sqlite3_vfs_register(ours, 0), SQLITE_OK);
    }
}

fn layer() -> &'static Layer {
    LAYER.get().expect("it is registered before any file is opened")
}

fn base() -> &'static sqlite3_io_methods {
    layer().methods.get().expect("a file was opened")
}

unsafe extern "C" fn open(
    _: *mut sqlite3_vfs,
    name: *const c_char,
    file: *mut sqlite3_file,
    flags: c_int,
    out_flags: *mut c_int,
) -> c_int {
    // SAFETY: SQLite hands us what it would hand to the base layer; after success the methods of the
    // file are replaced by a copy that differs in three functions, all of which call the base.
    unsafe {
        let base = layer().base;
        let opened = (*base).xOpen.expect("every layer opens")(base, name, file, flags, out_flags);
        if opened != SQLITE_OK || (*file).pMethods.is_null() {
            return opened;
        }
        let system = (*file).pMethods;
        layer().methods.get_or_init(|| *system);
        let mut known = layer().ours.lock().expect("nothing panics while it is held");
        (*file).pMethods = *known.entry(system as usize).or_insert_with(|| {
            let mut ours = *system;
            ours.xWrite = Some(write);
            ours.xTruncate = Some(truncate);
            ours.xSync = Some(sync);
            Box::leak(Box::new(ours))
        });
        drop(known);
        let name = if name.is_null() { c"" } else { CStr::from_ptr(name) };
        recorder().names.insert(file as usize, last_part(name));
        SQLITE_OK
    }
}

fn last_part(path: &CStr) -> String {
    path.to_string_lossy().rsplit('/').next().unwrap_or_default().to_owned()
}

unsafe extern "C" fn delete(_: *mut sqlite3_vfs, name: *const c_char, sync: c_int) -> c_int {
    // SAFETY: SQLite hands us what it would hand to the base layer.
    unsafe {
        let base = layer().base;
        let done = (*base).xDelete.expect("every layer deletes")(base, name, sync);
        let mut recorder = recorder();
        if done == SQLITE_OK && recorder.recording {
            recorder.calls.push(Call::Delete { file: last_part(CStr::from_ptr(name)) });
        }
        done
    }
}

unsafe extern "C" fn write(
    file: *mut sqlite3_file,
    bytes: *const c_void,
    length: c_int,
    offset: i64,
) -> c_int {
    if let Some(code) = recorder().count(false) {
        return code;
    }
    // SAFETY: SQLite promises `length` readable bytes; the file was opened by the base layer.
    unsafe {
        let written = base().xWrite.expect("files are written")(file, bytes, length, offset);
        if written == SQLITE_OK {
            let bytes = std::slice::from_raw_parts(bytes.cast::<u8>(), length as usize).to_vec();
            let offset = offset as u64;
            recorder().record(file, |file| Call::Write { file, offset, bytes });
        }
        written
    }
}

unsafe extern "C" fn truncate(file: *mut sqlite3_file, size: i64) -> c_int {
    if let Some(code) = recorder().count(false) {
        return code;
    }
    // SAFETY: the file was opened by the base layer.
    let done = unsafe { base().xTruncate.expect("files are cut")(file, size) };
    if done == SQLITE_OK {
        recorder().record(file, |file| Call::Truncate { file, size: size as u64 });
    }
    done
}

unsafe extern "C" fn sync(file: *mut sqlite3_file, flags: c_int) -> c_int {
    if let Some(code) = recorder().count(true) {
        return code;
    }
    // SAFETY: the file was opened by the base layer.
    let done = unsafe { base().xSync.expect("files are synced")(file, flags) };
    if done == SQLITE_OK {
        recorder().record(file, |file| Call::Sync { file });
    }
    done
}
