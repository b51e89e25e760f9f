//! What every page shares: head, navigation, foot.

use maud::{DOCTYPE, Markup, html};

use super::assets;
use super::units::Units;

/// The pages: path and name, in the order of the navigation. Add a page here.
pub const PAGES: [(&str, &str); 8] = [
    ("/", "Assay"),
    ("/shelf", "Shelf"),
    ("/sort", "Sort"),
    ("/plan", "Plan"),
    ("/readings", "Readings"),
    ("/use", "Use"),
    ("/cut", "Cut"),
    ("/types", "Types"),
];

/// The frame of one page.
#[derive(Clone, Copy, Debug)]
pub struct Frame<'a> {
    title: &'a str,
    here: &'a str,
    units: Units,
    scripts: &'a [&'a str],
    again: bool,
}

impl<'a> Frame<'a> {
    /// A page with this title, under `here` of [`PAGES`].
    pub fn new(title: &'a str, here: &'a str, units: Units) -> Self {
        Self {
            title,
            here,
            units,
            scripts: &[],
            again: false,
        }
    }

    /// Scripts of [`assets`] that the page needs, in their order; each is a module.
    #[must_use]
    pub fn scripts(mut self, scripts: &'a [&'a str]) -> Self {
        self.scripts = scripts;
        self
    }

    /// Whether a browser without scripts reloads the page soon.
    #[must_use]
    pub fn again(mut self, again: bool) -> Self {
        self.again = again;
        self
    }

    /// The whole page around `main`.
    pub fn show(&self, main: &Markup) -> Markup {
        html! {
            (DOCTYPE)
            html lang="en" data-units=(self.units.name()) {
                head {
                    meta charset="utf-8";
                    meta name="viewport" content="width=device-width, initial-scale=1";
                    meta name="color-scheme" content="light dark";
                    title { (self.title) " · Lineproof" }
                    link rel="icon" href=(assets::path("icon.svg")) type="image/svg+xml";
                    link rel="stylesheet" href=(assets::path("bench.css"));
                    @if self.again { noscript { meta http-equiv="refresh" content="1"; } }
                    @for script in self.scripts {
                        script type="module" src=(assets::path(script)) {}
                    }
                }
                body {
                    a.skip href="#main" { "Skip to content" }
                    header.top {
                        a.name href="/" { "Lineproof" }
                        nav aria-label="Pages" { (self.links()) }
                        (self.unit_switch())
                    }
                    main id="main" tabindex="-1" { (main) }
                    footer.foot {
                        p {
                            "lineproof " (env!("CARGO_PKG_VERSION"))
                            ". Each ± is the half-width of a 95 % interval. Sweeps and findings stay on this machine."
                        }
                    }
                }
            }
        }
    }

    fn links(&self) -> Markup {
        html! {
            ul {
                @for (path, name) in PAGES {
                    li { a href=(path) aria-current=[(path == self.here).then_some("page")] { (name) } }
                }
            }
        }
    }

    fn unit_switch(&self) -> Markup {
        let other = match self.units {
            Units::Metres => Units::Feet,
            Units::Feet => Units::Metres,
        };
        html! {
            form.units method="post" action="/units" {
                button name="units" value=(other.name()) title={ "Show lengths in " (other.name()) } {
                    "Lengths in " (self.units.name())
                }
            }
        }
    }
}
