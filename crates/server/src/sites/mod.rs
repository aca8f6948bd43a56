//! Sites: what a watch there begins with, and the watches that were and are.

mod draw;
mod form;
mod import;
mod instructions;
mod list;
mod one;
mod plan;
mod running;
mod site;

pub(crate) use draw::draw;
pub(crate) use form::{add, change, edit, new};
pub(crate) use import::{import, show_import, sites_of};
pub(crate) use instructions::set as set_instructions;
pub(crate) use list::list;
pub(crate) use one::one;
pub(crate) use plan::{as_source, set as set_plan, show as show_plan, stored as plan_of};
pub(crate) use running::give as give_plan;
pub(crate) use site::{Practice, Site, SiteContact};
