//! What typed readings give, as text.

use lineproof_core::method::readings::Answer;
use lineproof_core::uncertain::Uncertain;

use super::methods;
use super::number::{pair, significant};
use super::page::Page;
use crate::finding::MethodFound;
use lineproof_core::finding::judge::method_found;

/// The answer for people.
pub fn text(answer: &Answer) -> String {
    let mut page = Page::default();
    page.paragraph("", &sentence(answer));
    for why in &answer.impossible {
        page.paragraph("  - ", why);
    }
    for (i, remark) in answer.remarks.iter().enumerate() {
        if i == 0 {
            page.line("");
        }
        page.paragraph("  - ", remark);
    }
    methods::write(&mut page, &methods_found(answer));
    page.finish()
}

pub(crate) fn methods_found(answer: &Answer) -> Vec<MethodFound> {
    let served = answer.reports.iter().cloned().map(Ok);
    let unserved = answer.unserved.iter().cloned().map(Err);
    served.chain(unserved).map(|a| method_found(&a)).collect()
}

pub(crate) fn sentence(answer: &Answer) -> String {
    let mut parts = Vec::new();
    if let Some(z) = answer.best_impedance() {
        parts.push(format!("{} ohm", with_interval(z)));
    }
    if let Some(vf) = answer.best_velocity_factor() {
        parts.push(format!("velocity factor {}", with_interval(vf)));
    }
    if let Some(length) = tightest(answer.reports.iter().filter_map(|r| r.length_m)) {
        parts.push(format!("length {} m", with_interval(length)));
    }
    if let Some(delay) = tightest(answer.reports.iter().filter_map(|r| r.one_way_delay_s)) {
        parts.push(format!("{} ns one way", significant(delay.value * 1e9, 4)));
    }
    let losses = answer.reports.iter().flat_map(|r| &r.loss_db);
    if let Some(loss) = tightest(losses.map(|l| l.1)) {
        parts.push(format!("loss {} dB", with_interval(loss)));
    }
    if !answer.impossible.is_empty() {
        let rest = if parts.is_empty() {
            String::new()
        } else {
            format!(" What stands: {}.", parts.join(", "))
        };
        format!("These readings cannot all be right.{rest}")
    } else if parts.is_empty() {
        "These readings do not determine anything; the reasons stand below.".to_owned()
    } else {
        format!("{}.", parts.join(", "))
    }
}

fn tightest(found: impl Iterator<Item = Uncertain>) -> Option<Uncertain> {
    found.min_by(|a, b| a.u.total_cmp(&b.u))
}

fn with_interval(quantity: Uncertain) -> String {
    let (value, u95) = pair(quantity.value, quantity.u95());
    format!("{value} ± {u95}")
}
