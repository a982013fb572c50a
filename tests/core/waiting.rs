//! What keeps a tap short, and that it changes no result: searches that want few shapes, one shape, or only whether.

use pegwise::app::{Action, InstrumentAction, MOST_SHAPES, PickAction, ShapesAction, State, Tab};
use pegwise::instrument::Fret;
use pegwise::shapes::{BassRule, ShapeSearch, Style};
use pegwise::store::Library;
use pegwise::theory::Chord;

fn state_on(instrument: &str, chord: &str) -> State {
    let mut state = State::new(Library::default());
    state.update(Action::Instrument(InstrumentAction::Instrument(instrument.to_owned())));
    state.update(Action::Tab(Tab::Shapes));
    state.update(Action::Pick(PickAction::Typed(chord.to_owned())));
    state.update(Action::Pick(PickAction::ChordTaken));
    state
}

/// Filtering while searching gives what filtering everything gave.
#[test]
fn the_filtered_shapes_are_the_best_of_all_that_the_filters_let_through() {
    let filters = [
        ShapesAction::OpenOnly,
        ShapesAction::MovableOnly,
        ShapesAction::NoBarre,
        ShapesAction::RootInBass,
        ShapesAction::UpToBy(-9),
    ];
    for (instrument, chord) in [("guitar", "C"), ("guitar", "Bm7"), ("soprano-ukulele", "G7"), ("lap-steel-six", "Am")]
    {
        let mut state = state_on(instrument, chord);
        for filter in &filters {
            state.update(Action::Shapes(filter.clone()));
            let looking = &state.shapes;
            let search = ShapeSearch { style: looking.style, ..ShapeSearch::default() };
            let all = search.find(looking.chord, &state.board()).shapes;
            let wanted: Vec<_> = all.into_iter().filter(|found| looking.filters.lets_through(found)).collect();
            let best = &wanted[..wanted.len().min(MOST_SHAPES)];
            let frets = |found: &[pegwise::shapes::RankedShape]| -> Vec<String> {
                found.iter().map(|found| found.shape().to_string()).collect()
            };
            assert_eq!(frets(&looking.found), frets(best), "{chord} on {instrument}: {:?}", looking.filters);
        }
    }
}

#[test]
fn one_shape_and_whether_there_is_any_agree_with_the_whole_search() {
    for (instrument, text) in [("guitar", "Am7"), ("guitar", "C13"), ("mandolin", "D/B"), ("cigar-box-guitar", "C13")] {
        let state = state_on(instrument, "G");
        let (board, chord) = (state.board(), Chord::read(text).unwrap());
        for style in [Style::Strummed, Style::Picked] {
            let search = ShapeSearch { style, bass: BassRule::Any, last_fret: Fret::new(7), ..ShapeSearch::default() };
            let all = search.find(chord, &board).shapes;
            assert_eq!(search.finds_any(chord, &board), !all.is_empty(), "{text} on {instrument}");
            for found in &all {
                let one = search.find_shape(found.shape(), chord, &board);
                assert_eq!(one.as_ref(), Some(found), "{text} on {instrument}");
            }
        }
    }
}
