//! The bundled scenarios, graded from easy to hard, and the plate they are cut on. All of it is invented.

use crate::setting::Setting;
use desk::Inputs;

/// Every bundled scenario by its name, easy ones first.
const SCENARIOS: &[(&str, &str)] = &[
    ("loose-lead", include_str!("../scenarios/loose-lead.toml")),
    ("no-air", include_str!("../scenarios/no-air.toml")),
    ("source-knocked", include_str!("../scenarios/source-knocked.toml")),
    ("latched", include_str!("../scenarios/latched.toml")),
    ("worn-set", include_str!("../scenarios/worn-set.toml")),
    ("start-stands", include_str!("../scenarios/start-stands.toml")),
    ("arc-lost", include_str!("../scenarios/arc-lost.toml")),
    ("blown-hole", include_str!("../scenarios/blown-hole.toml")),
    ("groove", include_str!("../scenarios/groove.toml")),
    ("tip-up", include_str!("../scenarios/tip-up.toml")),
    ("power-cut", include_str!("../scenarios/power-cut.toml")),
    ("two-and-knocked", include_str!("../scenarios/two-and-knocked.toml")),
];

/// The names of the bundled scenarios, easy ones first.
pub fn names() -> impl Iterator<Item = &'static str> {
    SCENARIOS.iter().map(|(name, _)| *name)
}

/// The text of the bundled scenario of this name.
#[must_use]
pub fn text(name: &str) -> Option<&'static str> {
    SCENARIOS.iter().find(|(own, _)| *own == name).map(|(_, text)| *text)
}

/// The bundled scenario of this name, on its plate.
///
/// # Panics
/// If a bundled scenario has mistakes: they are held by tests.
#[must_use]
pub fn bundled(name: &str) -> Option<Setting> {
    let text = text(name)?;
    let setting = Setting::of(text, plate(None).expect("there is a first plate"));
    Some(setting.unwrap_or_else(|findings| panic!("bundled scenarios are sound: {findings:?}")))
}

/// The bundled plate of this name, or the first of them.
#[must_use]
pub fn plate(name: Option<&str>) -> Option<Inputs> {
    (name.unwrap_or(POST_BASES) == POST_BASES).then(|| {
        Inputs::bundled(
            "post-bases.nc",
            include_bytes!("../../../demo/post-bases/program.nc"),
            include_str!("../../../demo/post-bases/shop.toml"),
            include_str!("../../../demo/post-bases/job.toml"),
        )
    })
}

/// Name of the bundled plate.
pub const POST_BASES: &str = "post-bases";
