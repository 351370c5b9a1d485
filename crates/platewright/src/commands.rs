//! The commands, one a file.

pub(crate) mod campaign;
pub(crate) mod check;
pub(crate) mod demo;
pub(crate) mod explain;
pub(crate) mod forecast;
pub(crate) mod practice;
pub(crate) mod refind;
pub(crate) mod rescue;
pub(crate) mod salvage;
pub(crate) mod serve;
pub(crate) mod shop;
pub(crate) mod show;

use crate::findings::{Manner, told};
use crate::inputs::Files;
use crate::screen::Screen;
use desk::ShortText;
use units::System;

/// Prints what is less than a mistake in shop and job file.
fn remarks(files: &Files, screen: &mut Screen<'_>) {
    for (path, text, findings) in &files.remarks {
        let name = path.display().to_string();
        let manner = Manner { name: &name, system: System::Metric, all: true, explained: true };
        let text = told(screen, findings, &ShortText::new(text), manner);
        screen.raw(&text);
    }
}
