//! What every page shares: head, navigation, foot.

use std::sync::Arc;

use axum::Extension;
use axum::extract::{Request, State};
use axum::http::StatusCode;
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};
use maud::{DOCTYPE, Markup, html};

use super::assets;
use super::units::{self, Units};

/// A page of the navigation: its path and its name there.
pub type Link = (&'static str, &'static str);

/// The frame of one page.
#[derive(Clone, Debug)]
pub struct Frame {
    title: String,
    here: &'static str,
    scripts: &'static [&'static str],
    again: bool,
}

/// A page before [`around`] puts its frame around it.
#[derive(Clone, Debug)]
pub struct Page {
    frame: Frame,
    main: Markup,
}

impl Frame {
    /// A page with this title, under the path `here` of the navigation.
    pub fn new(title: impl Into<String>, here: &'static str) -> Self {
        Self {
            title: title.into(),
            here,
            scripts: &[],
            again: false,
        }
    }

    /// Scripts of [`assets`] that the page needs, in their order; each is a module.
    #[must_use]
    pub fn scripts(mut self, scripts: &'static [&'static str]) -> Self {
        self.scripts = scripts;
        self
    }

    /// Whether a browser without scripts reloads the page soon.
    #[must_use]
    pub fn again(mut self, again: bool) -> Self {
        self.again = again;
        self
    }

    /// The page with `main` in it.
    pub fn show(self, main: Markup) -> Page {
        Page { frame: self, main }
    }

    /// The whole page around `main`.
    fn whole(&self, main: &Markup, pages: &[Link], units: Units) -> Markup {
        html! {
            (DOCTYPE)
            html lang="en" data-units=(units.name()) {
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
                        nav aria-label="Pages" { (self.links(pages)) }
                        (unit_switch(units))
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

    fn links(&self, pages: &[Link]) -> Markup {
        html! {
            ul {
                @for (path, name) in pages {
                    li { a href=(path) aria-current=[(*path == self.here).then_some("page")] { (name) } }
                }
            }
        }
    }
}

impl IntoResponse for Page {
    fn into_response(self) -> Response {
        (Extension(self), StatusCode::OK).into_response()
    }
}

/// Puts the frame with the navigation around a page, as the person likes its units.
pub async fn around(State(pages): State<Arc<[Link]>>, request: Request, next: Next) -> Response {
    let units = units::liked(request.headers());
    let mut response = next.run(request).await;
    let Some(page) = response.extensions_mut().remove::<Page>() else {
        return response;
    };
    let (parts, _empty) = response.into_parts();
    let whole = page.frame.whole(&page.main, &pages, units);
    (parts.status, parts.headers, whole).into_response()
}

fn unit_switch(units: Units) -> Markup {
    let other = match units {
        Units::Metres => Units::Feet,
        Units::Feet => Units::Metres,
    };
    html! {
        form.units method="post" action="/units" {
            button name="units" value=(other.name()) title={ "Show lengths in " (other.name()) } {
                "Lengths in " (units.name())
            }
        }
    }
}
