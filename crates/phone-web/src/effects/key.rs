//! The device's key: a browser handle where that survives being kept, else ours wrapped by one, else
//! ours alone. Which of them holds is found by doing it: keep, close, open again, sign, verify.

use crate::effects::storage;
use crate::engine::{happen, window};
use js_sys::{Array, Object, Promise, Reflect, Uint8Array};
use phone::stored::StoredDevice;
use phone::{DeviceKey, KeyKept, PublicKey, Signature, Ticket, What};
use std::cell::RefCell;
use std::rc::Rc;
use wasm_bindgen::prelude::*;
use wasm_bindgen_futures::{JsFuture, spawn_local};
use web_sys::{CryptoKey, SubtleCrypto};

thread_local! {
    static SIGNER: RefCell<Option<Rc<Signer>>> = const { RefCell::new(None) };
}

enum Signer {
    Handle(CryptoKey),
    Ours(Box<DeviceKey>),
}

const PROOF: &[u8] = b"{\"proof\":\"this key survives being kept\"}";

/// Makes the key, the best way that works here.
pub(crate) fn make() {
    spawn_local(async {
        for keep in [KeyKept::Webcrypto, KeyKept::Wrapped, KeyKept::Soft] {
            if let Ok(key) = try_way(keep).await {
                return happen(What::KeyMade { key, keep });
            }
        }
        happen(What::KeyFailed { says: "no way of keeping a key works".to_owned() });
    });
}

async fn try_way(keep: KeyKept) -> Result<PublicKey, JsValue> {
    let device = match keep {
        KeyKept::Webcrypto => handle().await?,
        KeyKept::Wrapped => wrapped().await?,
        _ => soft()?,
    };
    let read = storage::keep_device(&device).await.map_err(|fault| fault.to_string())?;
    let public = public_of(&read).ok_or("the key did not come back")?.key;
    let signer = open(&read).await?;
    let signature = sign_with(&signer, PROOF).await?;
    if !public.verifies(PROOF, &signature) {
        return Err("the key that came back signs wrongly".into());
    }
    SIGNER.with_borrow_mut(|held| *held = Some(Rc::new(signer)));
    Ok(public)
}

async fn handle() -> Result<Object, JsValue> {
    let uses = Array::of2(&"sign".into(), &"verify".into());
    let way = Object::new();
    Reflect::set(&way, &"name".into(), &"Ed25519".into())?;
    let pair = wait(subtle()?.generate_key_with_object(&way, false, &uses)?).await?;
    let private = Reflect::get(&pair, &"privateKey".into())?;
    let public: CryptoKey = Reflect::get(&pair, &"publicKey".into())?.dyn_into()?;
    let raw = wait(subtle()?.export_key("raw", &public)?).await?;
    let device = described("webcrypto", &Uint8Array::new(&raw))?;
    Reflect::set(&device, &"private".into(), &private)?;
    Ok(device)
}

async fn wrapped() -> Result<Object, JsValue> {
    let (seed, key) = fresh();
    let way = Object::new();
    Reflect::set(&way, &"name".into(), &"AES-GCM".into())?;
    Reflect::set(&way, &"length".into(), &256.into())?;
    let uses = Array::of2(&"encrypt".into(), &"decrypt".into());
    let wrapping: CryptoKey =
        wait(subtle()?.generate_key_with_object(&way, false, &uses)?).await?.dyn_into()?;
    let once = Uint8Array::from(&crate::engine::moment().random[..12]);
    let sealed = subtle()?.encrypt_with_object_and_u8_array(&gcm(&once)?, &wrapping, &seed)?;
    let device = described("wrapped", &Uint8Array::from(key.public().0.as_slice()))?;
    Reflect::set(&device, &"wrapping".into(), &wrapping)?;
    Reflect::set(&device, &"once".into(), &once)?;
    Reflect::set(&device, &"sealed".into(), &Uint8Array::new(&wait(sealed).await?))?;
    Ok(device)
}

fn soft() -> Result<Object, JsValue> {
    let (seed, key) = fresh();
    let device = described("soft", &Uint8Array::from(key.public().0.as_slice()))?;
    Reflect::set(&device, &"seed".into(), &Uint8Array::from(seed.as_slice()))?;
    Ok(device)
}

fn fresh() -> ([u8; 32], DeviceKey) {
    let mut seed = [0; 32];
    getrandom::fill(&mut seed).expect("a browser has random bytes");
    (seed, DeviceKey::from_seed(seed))
}

fn described(keep: &str, public: &Uint8Array) -> Result<Object, JsValue> {
    let device = Object::new();
    Reflect::set(&device, &"keep".into(), &keep.into())?;
    Reflect::set(&device, &"public".into(), public)?;
    Ok(device)
}

fn gcm(once: &Uint8Array) -> Result<Object, JsValue> {
    let way = Object::new();
    Reflect::set(&way, &"name".into(), &"AES-GCM".into())?;
    Reflect::set(&way, &"iv".into(), once)?;
    Ok(way)
}

/// The public side of what is kept.
pub(crate) fn public_of(device: &JsValue) -> Option<StoredDevice> {
    let keep = match Reflect::get(device, &"keep".into()).ok()?.as_string()?.as_str() {
        "webcrypto" => KeyKept::Webcrypto,
        "wrapped" => KeyKept::Wrapped,
        "soft" => KeyKept::Soft,
        _ => return None,
    };
    let public = Uint8Array::new(&Reflect::get(device, &"public".into()).ok()?).to_vec();
    Some(StoredDevice { key: PublicKey(public.try_into().ok()?), keep })
}

async fn open(device: &JsValue) -> Result<Signer, JsValue> {
    let field = |name: &str| Reflect::get(device, &name.into());
    match field("keep")?.as_string().as_deref() {
        Some("webcrypto") => Ok(Signer::Handle(field("private")?.dyn_into()?)),
        Some("wrapped") => {
            let wrapping: CryptoKey = field("wrapping")?.dyn_into()?;
            let once = Uint8Array::new(&field("once")?);
            let sealed = Uint8Array::new(&field("sealed")?).to_vec();
            let opened =
                subtle()?.decrypt_with_object_and_u8_array(&gcm(&once)?, &wrapping, &sealed)?;
            ours(&Uint8Array::new(&wait(opened).await?))
        }
        Some("soft") => ours(&Uint8Array::new(&field("seed")?)),
        _ => Err("no key is kept".into()),
    }
}

fn ours(seed: &Uint8Array) -> Result<Signer, JsValue> {
    let seed = seed.to_vec().try_into().map_err(|_| "a seed has 32 bytes")?;
    Ok(Signer::Ours(Box::new(DeviceKey::from_seed(seed))))
}

/// Signs with the key that is kept.
pub(crate) async fn signature(bytes: &[u8]) -> Result<Signature, JsValue> {
    let signer = match SIGNER.with_borrow(Clone::clone) {
        Some(signer) => signer,
        None => {
            let device = storage::device_value().await.map_err(|fault| fault.to_string())?;
            let signer = Rc::new(open(&device.ok_or("no key is kept")?).await?);
            SIGNER.with_borrow_mut(|held| *held = Some(signer.clone()));
            signer
        }
    };
    sign_with(&signer, bytes).await
}

async fn sign_with(signer: &Signer, bytes: &[u8]) -> Result<Signature, JsValue> {
    match signer {
        Signer::Ours(key) => Ok(key.sign(bytes)),
        Signer::Handle(key) => {
            let signed = subtle()?.sign_with_str_and_u8_array("Ed25519", key, bytes)?;
            let signed = Uint8Array::new(&wait(signed).await?).to_vec();
            Ok(Signature(signed.try_into().map_err(|_| "a signature has 64 bytes")?))
        }
    }
}

/// Signs a line.
pub(crate) fn sign(ticket: Ticket, bytes: Vec<u8>) {
    spawn_local(async move {
        happen(match signature(&bytes).await {
            Ok(signature) => What::Signed { ticket, signature },
            Err(error) => What::SignFailed { ticket, says: format!("{error:?}") },
        });
    });
}

fn subtle() -> Result<SubtleCrypto, JsValue> {
    let subtle = window().crypto()?.subtle();
    // Outside a secure context there is none, whatever the types say.
    if subtle.is_undefined() { Err("no WebCrypto here".into()) } else { Ok(subtle) }
}

async fn wait(promise: Promise) -> Result<JsValue, JsValue> {
    JsFuture::from(promise).await
}
