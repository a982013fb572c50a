//! MusicXML 4.0 (W3C Music Notation Community Group, June 2021), plain and packed: the first voice of the first part.
//!
//! Nothing outside the file is fetched, entities of its own are refused, and a packed file is opened in memory only,
//! with a bound on what it unpacks to.

mod measure;
mod packed;

use roxmltree::{Document, Node, ParsingOptions};

use super::fault::{SkippedKind, TuneFault};
use super::model::Tune;
use super::read::TuneRead;
use measure::Measures;

pub(super) use packed::read_packed;

/// The largest MusicXML text that is read, in bytes: the score of a whole evening for one instrument.
const MOST_TEXT: usize = 4 * 1024 * 1024;
/// The most elements and texts that are read. With the bound on the text it holds the tree below 60 MB.
const MOST_NODES: u32 = 400_000;

/// Reads MusicXML from text.
///
/// # Errors
/// When it is no well-formed MusicXML score in parts, asks for entities, or is too large; a score that cannot be
/// understood in the middle is handed back as far as it goes, with its fault.
pub fn read_musicxml(text: &str) -> Result<TuneRead, TuneFault> {
    if text.len() > MOST_TEXT {
        return Err(TuneFault::TooLarge { what: "bytes of MusicXML", most: MOST_TEXT });
    }
    if let Some(at) = text.find("<!ENTITY") {
        let line = text[..at].lines().count().max(1);
        return Err(TuneFault::Xml { line, why: "entities of the file's own are not followed".to_owned() });
    }
    let options = ParsingOptions { allow_dtd: true, nodes_limit: MOST_NODES, ..ParsingOptions::default() };
    let document = Document::parse_with_options(text, options).map_err(|fault| {
        let line = usize::try_from(fault.pos().row).unwrap_or(1);
        match fault {
            roxmltree::Error::NodesLimitReached => {
                TuneFault::TooLarge { what: "elements", most: usize::try_from(MOST_NODES).unwrap_or(usize::MAX) }
            }
            fault => TuneFault::Xml { line, why: one_line(&fault.to_string()) },
        }
    })?;
    let root = document.root_element();
    let place = |node: Node<'_, '_>| document.text_pos_at(node.range().start);
    match root.tag_name().name() {
        "score-partwise" => {}
        found => {
            let place = place(root);
            let (line, column) = (to_usize(place.row), to_usize(place.col));
            return Err(TuneFault::at(line, column, found, "a score in parts (score-partwise)"));
        }
    }
    let mut tune = Tune::default();
    let titled = ["work", "movement-title"].into_iter().find_map(|name| {
        let node = child(root, name)?;
        let title = child(node, "work-title").unwrap_or(node);
        title.text().map(str::trim).filter(|title| !title.is_empty())
    });
    tune.set_title(titled.unwrap_or_default());
    let mut parts = root.children().filter(|node| node.has_tag_name("part"));
    let part = parts.next().ok_or(TuneFault::NoTune)?;
    if let Some(other) = parts.next() {
        tune.skip(SkippedKind::Voices, to_usize(place(other).row), "part");
    }
    let mut measures = Measures::new(&document, tune);
    let mut fault = None;
    for measure in part.children().filter(|node| node.has_tag_name("measure")) {
        if let Err(found) = measures.measure(measure) {
            fault = Some(found);
            break;
        }
    }
    let tune = measures.finish();
    if tune.bars.is_empty() && fault.is_none() {
        return Err(TuneFault::NoTune);
    }
    Ok(TuneRead { tune, fault })
}

/// Returns the first child of this name.
fn child<'a, 'input>(node: Node<'a, 'input>, name: &str) -> Option<Node<'a, 'input>> {
    node.children().find(|child| child.has_tag_name(name))
}

/// Returns the text of the first child of this name.
fn text_of<'a>(node: Node<'a, '_>, name: &str) -> Option<&'a str> {
    child(node, name)?.text().map(str::trim)
}

fn to_usize(number: u32) -> usize {
    usize::try_from(number).unwrap_or(usize::MAX)
}

fn one_line(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ").chars().take(120).collect()
}
