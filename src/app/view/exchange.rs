//! What goes out and what comes in.

use crate::app::{Field, State, cut, line, ui};
use crate::store::{Decision, Incoming, Likeness};

use super::{count, rows};

/// So many characters of what goes out are shown; all of it goes to the clipboard.
const SHOWN: usize = 1_500;

/// Fills both pages. `can_write` tells whether there is a folder for files.
pub(in crate::app) fn show_exchange(state: &State, can_write: bool, to: &ui::ExchangeState<'_>) {
    let exchange = &state.exchange;
    if let Some(out) = &exchange.out {
        to.set_out_name(format!("{}.{}", out.name, out.ending).into());
        if to.get_out_text() != out.text.as_str() {
            to.set_out_text(out.text.as_str().into());
        }
        to.set_out_preview(out.text.chars().take(SHOWN).collect::<String>().into());
        to.set_out_whole(out.is_whole);
        to.set_out_longer(out.text.chars().nth(SHOWN).is_some());
        let (file, fault) = match &out.written {
            None => ("", ""),
            Some(Ok(file)) => (file.as_str(), ""),
            Some(Err(fault)) => ("", fault.as_str()),
        };
        to.set_out_file(file.into());
        to.set_out_fault(fault.into());
    }
    to.set_can_write(can_write);
    // What is long is not drawn: nobody reads a library in a field.
    let is_long = cut(&exchange.pasted, Field::Lines).is_some();
    let shown = if is_long { "" } else { exchange.pasted.as_str() };
    if to.get_pasted() != shown {
        to.set_pasted(shown.into());
    }
    let letters = if is_long { exchange.pasted.chars().count().to_string() } else { String::new() };
    to.set_pasted_letters(letters.into());
    to.set_fault(exchange.fault.as_ref().map(ToString::to_string).unwrap_or_default().into());
    to.set_items(rows(exchange.items.iter().map(|item| ui::ItemView {
        kind: match item.what {
            Incoming::Settings => ui::ItemKind::Settings,
            Incoming::OwnTuning(_) => ui::ItemKind::OwnTuning,
            Incoming::Song(_) => ui::ItemKind::Song,
            Incoming::SetList(_) => ui::ItemKind::SetList,
        },
        name: line(&item.name).into(),
        likeness: match item.likeness {
            Likeness::New => ui::ItemLikeness::New,
            Likeness::Same => ui::ItemLikeness::Same,
            Likeness::Differs => ui::ItemLikeness::Differs,
        },
        decision: match item.decision {
            Decision::Leave => ui::ItemDecision::Leave,
            Decision::Add => ui::ItemDecision::Add,
            Decision::Replace => ui::ItemDecision::Replace,
        },
    })));
    to.set_has_items(exchange.incoming.is_some());
    let done = exchange.done.unwrap_or_default();
    to.set_done(exchange.done.is_some());
    to.set_added(count(done.added));
    to.set_replaced(count(done.replaced));
    to.set_places_lost(count(done.places_lost));
}
