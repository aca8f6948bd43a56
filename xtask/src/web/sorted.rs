//! Puts a program's functions in the order of their bytes: what begins alike then lies side by side, and the packed
//! file is smaller by some 2 %. Nothing else about the program changes.

use anyhow::{Result, anyhow};
use std::convert::Infallible;
use wasm_encoder::reencode::{Error, Reencode};
use wasm_encoder::{CodeSection, FunctionSection, Module};
use wasmparser::{CodeSectionReader, FunctionSectionReader, Parser, Payload, TypeRef};

/// The program with its functions sorted.
pub(super) fn sorted(wasm: &[u8]) -> Result<Vec<u8>> {
    let (mut imported, mut bodies) = (0, Vec::new());
    for payload in Parser::new(0).parse_all(wasm) {
        match payload? {
            Payload::ImportSection(imports) => {
                for import in imports.into_imports() {
                    imported += u32::from(matches!(import?.ty, TypeRef::Func(_)));
                }
            }
            Payload::CodeSectionEntry(body) => bodies.push(&wasm[body.range()]),
            _ => {}
        }
    }
    let mut order: Vec<usize> = (0..bodies.len()).collect();
    order.sort_by_key(|place| bodies[*place]);
    let mut places = vec![0; order.len()];
    for (place, from) in order.iter().enumerate() {
        places[*from] = u32::try_from(place)?;
    }
    let mut module = Module::new();
    let mut sorting = Sorting { imported, order, places };
    let done = sorting.parse_core_module(&mut module, Parser::new(0), wasm);
    done.map_err(|error| anyhow!("the program cannot be written anew: {error}"))?;
    Ok(module.finish())
}

struct Sorting {
    /// So many functions come from outside; they stand before all others and stay.
    imported: u32,
    /// Which function comes to each place.
    order: Vec<usize>,
    /// To which place each function comes.
    places: Vec<u32>,
}

impl Reencode for Sorting {
    type Error = Infallible;

    fn function_index(&mut self, function: u32) -> Result<u32, Error> {
        let own = function.checked_sub(self.imported);
        Ok(own.map_or(function, |own| self.imported + self.places[own as usize]))
    }

    fn parse_function_section(
        &mut self,
        functions: &mut FunctionSection,
        section: FunctionSectionReader<'_>,
    ) -> Result<(), Error> {
        let types = section.into_iter().collect::<Result<Vec<u32>, _>>()?;
        for from in self.order.clone() {
            functions.function(self.type_index(types[from])?);
        }
        Ok(())
    }

    fn parse_code_section(
        &mut self,
        code: &mut CodeSection,
        section: CodeSectionReader<'_>,
    ) -> Result<(), Error> {
        let bodies = section.into_iter().collect::<Result<Vec<_>, _>>()?;
        for from in self.order.clone() {
            self.parse_function_body(code, bodies[from].clone())?;
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::sorted;
    use wasm_encoder::*;
    use wasmi::{Engine, Linker, Store};

    /// Three functions that call each other, one of them through a table; the largest first.
    fn program() -> Vec<u8> {
        let mut types = TypeSection::new();
        types.ty().function([ValType::I32], [ValType::I32]);
        let mut functions = FunctionSection::new();
        for _ in 0..3 {
            functions.function(0);
        }
        let mut tables = TableSection::new();
        tables.table(TableType {
            element_type: RefType::FUNCREF,
            table64: false,
            minimum: 1,
            maximum: None,
            shared: false,
        });
        let mut exports = ExportSection::new();
        exports.export("twice_and_three", ExportKind::Func, 0);
        let mut elements = ElementSection::new();
        elements.active(None, &ConstExpr::i32_const(0), Elements::Functions([2].as_slice().into()));
        let mut code = CodeSection::new();
        let first = [
            Instruction::LocalGet(0),
            Instruction::Call(1),
            Instruction::I32Const(0),
            Instruction::CallIndirect { type_index: 0, table_index: 0 },
        ];
        let twice = [Instruction::LocalGet(0), Instruction::I32Const(2), Instruction::I32Mul];
        let three = [Instruction::LocalGet(0), Instruction::I32Const(3), Instruction::I32Add];
        for body in [first.as_slice(), &three, &twice] {
            let mut function = Function::new([]);
            for instruction in body {
                function.instruction(instruction);
            }
            code.function(function.instruction(&Instruction::End));
        }
        let mut module = Module::new();
        module.section(&types).section(&functions).section(&tables).section(&exports);
        module.section(&elements).section(&code);
        module.finish()
    }

    fn asked(wasm: &[u8], what: i32) -> i32 {
        let engine = Engine::default();
        let module = wasmi::Module::new(&engine, wasm).unwrap();
        let mut store = Store::new(&engine, ());
        let instance = Linker::new(&engine).instantiate_and_start(&mut store, &module).unwrap();
        let function = instance.get_typed_func::<i32, i32>(&store, "twice_and_three").unwrap();
        function.call(&mut store, what).unwrap()
    }

    #[test]
    fn a_sorted_program_answers_as_before() {
        let (program, sorted) = (program(), sorted(&program()).unwrap());
        assert_ne!(program, sorted, "its functions are not in order");
        for what in [-4, 0, 19] {
            assert_eq!(asked(&program, what), (what + 3) * 2);
            assert_eq!(asked(&sorted, what), (what + 3) * 2);
        }
        assert_eq!(super::sorted(&sorted).unwrap().len(), sorted.len());
    }

    #[test]
    fn what_is_no_program_is_said_to_be_none() {
        assert!(sorted(b"\0asm").is_err());
    }
}
