//! The worksheets that come with the library, each a file in `templates/`.

/// A worksheet that comes with the library.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Template {
    /// The name it is asked for under.
    pub name: &'static str,
    /// What it answers, in one line.
    pub about: &'static str,
    /// The worksheet.
    pub text: &'static str,
}

/// One row a template.
static TEMPLATES: &[Template] = &[Template {
    name: "whole-site",
    about: "A low dam with a siphon intake, a fixed-blade turbine, and the inverter at the house",
    text: include_str!("../templates/whole-site.yaml"),
}];

/// All templates; the first one is the one that runs where no sheet is named.
#[must_use]
pub fn templates() -> &'static [Template] {
    TEMPLATES
}

/// The template of a name.
#[must_use]
pub fn template(name: &str) -> Option<&'static Template> {
    TEMPLATES.iter().find(|template| template.name == name)
}
