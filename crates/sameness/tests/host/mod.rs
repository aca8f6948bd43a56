//! Runs the crate in wasm.

mod built;

use sameness::QUESTIONS;
use wasmi::{Engine, Instance, Linker, Memory, Module, Store, TypedFunc};

/// The module, loaded and waiting for questions.
pub(crate) struct Host {
    store: Store<()>,
    memory: Memory,
    tray: TypedFunc<u32, u32>,
    ask: TypedFunc<u32, i32>,
}

impl Host {
    /// A fresh instance.
    pub(crate) fn new() -> Host {
        let engine = Engine::default();
        let module = Module::new(&engine, built::wasm()).expect("the built module is sound");
        let mut store = Store::new(&engine, ());
        // No import is given, so none may be asked for: no clock, no randomness, no browser.
        let instance: Instance = Linker::new(&engine)
            .instantiate_and_start(&mut store, &module)
            .expect("the pure rooms import nothing");
        let memory = instance.get_memory(&store, "memory").expect("a module has memory");
        let tray = instance.get_typed_func(&store, "tray").expect("wasm.rs exports it");
        let ask = instance.get_typed_func(&store, "ask").expect("wasm.rs exports it");
        Host { store, memory, tray, ask }
    }

    /// Asks by name.
    pub(crate) fn ask(&mut self, name: &str, input: &[u8]) -> Result<String, String> {
        let number = QUESTIONS.iter().position(|(known, _)| *known == name).expect("a question");
        let at = self.tray.call(&mut self.store, input.len() as u32).expect("there is room");
        self.memory.write(&mut self.store, at as usize, input).expect("the tray lies in memory");
        let length = self.ask.call(&mut self.store, number as u32).expect("no panic in wasm");
        let size = length.unsigned_abs();
        let at = self.tray.call(&mut self.store, size).expect("the answer is there");
        let mut answer = vec![0; size as usize];
        self.memory.read(&self.store, at as usize, &mut answer).expect("the answer lies in memory");
        let text = String::from_utf8(answer).expect("answers are text");
        if length < 0 { Err(text) } else { Ok(text) }
    }
}
