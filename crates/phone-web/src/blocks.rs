//! One file for each kind of block that has more to it than its words.

mod camera;
mod code;
mod control;
mod input;
mod lane;
mod lines;
mod plan;
mod scanner;
mod signature;

use crate::engine::happen;
use leptos::prelude::*;
use phone::What;
use phone::view::{Block, Tone};

/// Draws one block.
pub(crate) fn draw(block: Block) -> AnyView {
    match block {
        Block::Lane(lane) => lane::lane(&lane),
        Block::Tally { strokes, says } => lane::tally(&strokes, says),
        Block::Rule => view! { <hr/> }.into_any(),
        Block::Heading { id, text, second } => {
            let second = second.map(|second| view! { <p class="soft">{second}</p> });
            view! { <div class="heading" data-test=id><h1>{text}</h1>{second}</div> }.into_any()
        }
        Block::Legend(text) => view! { <h2>{text}</h2> }.into_any(),
        Block::Words { id, text, tone } => words(id, text, tone),
        Block::Digits(digits) => {
            view! { <p class="digits num" id="digits">{digits}</p> }.into_any()
        }
        Block::Act(control) => control::control(control),
        Block::Row(controls) => {
            let controls = controls.into_iter().map(control::control).collect_view();
            view! { <div class="row">{controls}</div> }.into_any()
        }
        Block::Said { text, control } => {
            let control = control::control(control);
            view! {
                <div class="said" data-test="said"><p role="status">{text}</p>{control}</div>
            }
            .into_any()
        }
        Block::Choices { legend, controls } => {
            let controls = controls.into_iter().map(control::control).collect_view();
            view! { <div class="choices" role="group" aria-label=legend>{controls}</div> }
                .into_any()
        }
        Block::Input { field, label, value, lines } => input::input(field, label, value, lines),
        Block::Ring { id, words, second, number, tap } => {
            let dial = format!("tel:{}", number.replace(' ', ""));
            let below = second.into_iter().chain([number]).collect::<Vec<_>>().join(", ");
            let touched = move |_| {
                if let Some(tap) = tap.clone() {
                    happen(What::Did(tap));
                }
            };
            view! {
                <a class="plain ring-up" id=id href=dial on:click=touched>{words}<small>{below}</small></a>
            }
            .into_any()
        }
        Block::Plan(view) => plan::plan(view),
        Block::Scanner { says, goes_on } => scanner::scanner(says, goes_on),
        Block::Code { text, says } => code::code(text, says),
        Block::Camera { words, purpose } => camera::camera(words, purpose),
        Block::Signature { words } => signature::signature(words),
        Block::Lines(list) => lines::lines(list),
        Block::List { items } => {
            let items = items.into_iter().map(|item| view! { <li>{item}</li> }).collect_view();
            view! { <ol class="list">{items}</ol> }.into_any()
        }
    }
}

fn words(id: &'static str, text: String, tone: Tone) -> AnyView {
    let class = match tone {
        Tone::Soft => "soft",
        Tone::Plain => "words",
        Tone::Ember => "words ember",
        Tone::Live => "words live",
    };
    let role = match tone {
        Tone::Ember => Some("alert"),
        Tone::Live => Some("status"),
        _ => None,
    };
    view! { <p class=class role=role data-test=id>{text}</p> }.into_any()
}
