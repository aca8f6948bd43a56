//! What IndexedDB is asked: a database opened, one transaction, its outcome. The browser resolves a promise where it
//! would call back, so that nothing of ours is handed over and waited for but that.

use js_sys::{Array, Object, Promise, Reflect};
use wasm_bindgen::prelude::*;
use wasm_bindgen_futures::JsFuture;
use web_sys::{
    DomException, IdbDatabase, IdbObjectStore, IdbOpenDbRequest, IdbRequest, IdbTransaction,
    IdbVersionChangeEvent,
};

#[wasm_bindgen]
extern "C" {
    /// A database, with the one function whose last argument `web-sys` does not know yet.
    type Base;
    #[wasm_bindgen(method, catch)]
    fn transaction(
        this: &Base,
        stores: &Array,
        mode: &str,
        options: &Object,
    ) -> Result<IdbTransaction, JsValue>;
}

/// What a transaction may do.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Mode {
    Read,
    Write,
}

/// A transaction under way. One that writes and is dropped before it was committed keeps nothing.
pub(crate) struct Transaction {
    raw: IdbTransaction,
    /// Of one that writes, until it was committed.
    end: Option<JsFuture>,
}

/// Something that was asked. Several are asked first and waited for then: each that is waited for alone costs a turn
/// of the browser's loop.
pub(crate) struct Asked {
    request: IdbRequest,
    end: JsFuture,
}

/// Opens a database; `upgrade` makes what is missing, from the version that was there (0: none).
pub(crate) async fn open(
    name: &str,
    version: u32,
    upgrade: impl Fn(f64, &IdbDatabase) -> Result<(), JsValue> + 'static,
) -> Result<IdbDatabase, JsValue> {
    let factory = Reflect::get(&js_sys::global(), &"indexedDB".into())?;
    let factory: web_sys::IdbFactory = factory.dyn_into().map_err(|_| "no IndexedDB here")?;
    let request = factory.open_with_u32(name, version)?;
    let opening = request.clone();
    let needed = Closure::<dyn FnMut(IdbVersionChangeEvent)>::new(move |event| {
        if upgraded(&opening, &event, &upgrade).is_err()
            && let Some(transaction) = opening.transaction()
        {
            // Half a database is none: the opening fails and says so.
            let _ = transaction.abort();
        }
    });
    request.set_onupgradeneeded(Some(needed.as_ref().unchecked_ref()));
    Asked::of(request.unchecked_into()).outcome().await?.dyn_into()
}

fn upgraded(
    opening: &IdbOpenDbRequest,
    event: &IdbVersionChangeEvent,
    upgrade: &impl Fn(f64, &IdbDatabase) -> Result<(), JsValue>,
) -> Result<(), JsValue> {
    upgrade(event.old_version(), &opening.result()?.dyn_into()?)
}

impl Asked {
    /// A request that was just made.
    pub(crate) fn of(request: IdbRequest) -> Asked {
        let end = Promise::new(&mut |resolve, reject| {
            request.set_onsuccess(Some(&resolve));
            request.set_onerror(Some(&reject));
        });
        Asked { request, end: JsFuture::from(end) }
    }

    /// What came of it. The end of its transaction is not enough: Chromium fetches what is large behind it.
    pub(crate) async fn outcome(self) -> Result<JsValue, JsValue> {
        match self.end.await {
            Ok(_) => self.request.result(),
            Err(_) => Err(why(self.request.error()?)),
        }
    }
}

fn why(error: Option<DomException>) -> JsValue {
    error.map_or_else(|| "given up".into(), JsValue::from)
}

impl Transaction {
    /// Begins one over these stores: on the disk before it is said to be done.
    pub(crate) fn begin(
        database: &IdbDatabase,
        stores: &[&str],
        mode: Mode,
    ) -> Result<Transaction, JsValue> {
        let stores: Array = stores.iter().map(|store| JsValue::from(*store)).collect();
        let options = Object::new();
        Reflect::set(&options, &"durability".into(), &"strict".into())?;
        let writes = mode == Mode::Write;
        let spelled = if writes { "readwrite" } else { "readonly" };
        let raw = database.unchecked_ref::<Base>().transaction(&stores, spelled, &options)?;
        let end = writes.then(|| {
            Promise::new(&mut |resolve, reject| {
                raw.set_oncomplete(Some(&resolve));
                raw.set_onabort(Some(&reject));
            })
        });
        Ok(Transaction { raw, end: end.map(JsFuture::from) })
    }

    /// One of its stores.
    pub(crate) fn store(&self, name: &str) -> Result<IdbObjectStore, JsValue> {
        self.raw.object_store(name)
    }

    /// Waits until all that was written is on the disk: the browser commits when nothing more is asked.
    pub(crate) async fn commit(mut self) -> Result<(), JsValue> {
        let Some(end) = self.end.take() else { return Ok(()) };
        match end.await {
            Ok(_) => Ok(()),
            Err(_) => Err(why(self.raw.error())),
        }
    }
}

impl Drop for Transaction {
    fn drop(&mut self) {
        if self.end.is_some() {
            // One that has failed by itself is over already.
            let _ = self.raw.abort();
        }
    }
}
