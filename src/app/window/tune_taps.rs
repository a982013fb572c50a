//! What each control of a tune's screens sends.

use std::fs::File;
use std::io::{self, Read};
use std::path::Path;
use std::rc::Rc;
use std::sync::PoisonError;

use slint::{ComponentHandle, SharedString};

use crate::app::action::Action;
use crate::app::{Decision, EnterAction, FileFault, PluckAction, TabRoom, TuneAction, Voices, ui, view};
use crate::arrange::{Fullness, Goal, ThumbStyle};
use crate::platform::{Pick, Picked};
use crate::shapes::Finger;
use crate::tune::MOST_BYTES;

use super::app::App;
use super::files::Answer;
use super::song_taps::now_ms;
use super::taps::at;

const fn does(action: TuneAction) -> Action {
    Action::Tune(action)
}

fn finger(text: &SharedString) -> Option<Finger> {
    let all = [Finger::Thumb, Finger::Index, Finger::Middle, Finger::Ring, Finger::Little];
    all.into_iter().find(|finger| finger.to_string() == text.as_str())
}

/// Reads a file, but no more of it than the readers take: one byte more tells them that it is too large.
fn read_file(path: &Path) -> io::Result<Vec<u8>> {
    let mut bytes = Vec::new();
    let most = u64::try_from(MOST_BYTES).unwrap_or(u64::MAX).saturating_add(1);
    File::open(path)?.take(most).read_to_end(&mut bytes)?;
    Ok(bytes)
}

impl App {
    /// Sends every tap on a tune's screens back as an action.
    pub(super) fn attach_tune(self: &Rc<Self>) {
        let to = self.window().global::<ui::TuneState<'_>>();
        let by = |action: fn(i16) -> TuneAction| {
            self.sends(move |by: i32| i16::try_from(by).ok().map(|by| does(action(by))))
        };
        let app = Rc::downgrade(self);
        to.on_lay_out(move |width, letter, number| {
            let tab = app.upgrade().and_then(|app| app.tab_in(TabRoom { width, letter }, number));
            tab.map(|tab| tab.view()).unwrap_or_default()
        });
        let app = Rc::downgrade(self);
        to.on_find(move |width, letter, number, slice| {
            let tab = app.upgrade().and_then(|app| app.tab_in(TabRoom { width, letter }, number));
            tab.zip(at(slice)).map(|(tab, slice)| tab.cursor(slice)).unwrap_or_default()
        });
        let app = Rc::downgrade(self);
        to.on_bar_tapped(move |system, bar, x| {
            let Some(app) = app.upgrade() else { return };
            let found = at(system).zip(at(bar)).and_then(|(system, bar)| {
                let slice = app.last_tab()?.page().slice_at(system, bar, x)?;
                app.with(|state| Some(state.tune.worked.as_ref()?.arrangement.slices.get(slice)?.at))
            });
            if let Some(place) = found {
                // The same note tapped again is to be changed.
                let is_again = app.with(|state| {
                    let (index, slices) = state.tune.selected()?;
                    Some(slices[index].at == place && state.tune.hearing.playing.is_none())
                });
                app.act_soon(if is_again == Some(true) {
                    Action::Open(crate::app::screen::Screen::TuneMoment)
                } else {
                    does(TuneAction::Select(place))
                });
            }
        });
        to.on_moved(by(TuneAction::MoveBy));
        let app = Rc::downgrade(self);
        to.on_stepped(move |by| {
            if let Some((app, by)) = app.upgrade().zip(i16::try_from(by).ok()) {
                app.act_soon(does(TuneAction::MoveBy(by)));
                app.act_soon(does(TuneAction::HearMoment));
            }
        });
        to.on_stop_tapped(self.does(|| does(TuneAction::Stop)));
        to.on_again_tapped(self.does(|| does(TuneAction::Again)));
        to.on_play_tapped(self.does(|| does(TuneAction::Play)));
        to.on_ticked(self.does(|| does(TuneAction::Tick(now_ms()))));
        to.on_transposed(by(TuneAction::TransposeBy));
        to.on_any_key_tapped(self.does(|| does(TuneAction::AnyKey)));
        to.on_capo_moved(by(TuneAction::CapoBy));
        to.on_thick_on_top_tapped(self.does(|| does(TuneAction::ThickOnTop)));
        to.on_percent_moved(by(TuneAction::PercentBy));
        to.on_loop_tapped(self.does(|| does(TuneAction::Loop)));
        to.on_loop_here_tapped(self.does(|| does(TuneAction::LoopHere)));
        to.on_loop_from_moved(by(TuneAction::LoopFromBy));
        to.on_loop_to_moved(by(TuneAction::LoopToBy));
        to.on_count_in_tapped(self.does(|| does(TuneAction::CountIn)));
        self.attach_tune_choices();
        self.attach_tune_moment();
        self.attach_tune_entry();
        self.attach_pluck();
        let to = self.window().global::<ui::SongState<'_>>();
        to.on_tune_wanted(self.does(|| does(TuneAction::Open)));
    }

    fn attach_tune_choices(self: &Rc<Self>) {
        let to = self.window().global::<ui::TuneState<'_>>();
        to.on_style_chosen(self.sends(|style| {
            Some(does(TuneAction::Style(match style {
                ui::ThumbStyle::Alternating => ThumbStyle::Alternating,
                ui::ThumbStyle::Steady => ThumbStyle::Steady,
                ui::ThumbStyle::OnChanges => ThumbStyle::OnChanges,
                ui::ThumbStyle::MelodyAlone => ThumbStyle::MelodyAlone,
            })))
        }));
        to.on_fullness_chosen(self.sends(|fullness| {
            Some(does(TuneAction::Fullness(match fullness {
                ui::TuneFullness::Plain => Fullness::Plain,
                ui::TuneFullness::Pinches => Fullness::Pinches,
                ui::TuneFullness::Inner => Fullness::Inner,
            })))
        }));
        to.on_evenly_easy_chosen(
            self.sends(|is_on| Some(does(TuneAction::Goal(if is_on { Goal::LeastHardest } else { Goal::LeastSum })))),
        );
        to.on_voices_chosen(self.sends(|voices| {
            Some(does(TuneAction::Voices(match voices {
                ui::TuneVoices::Both => Voices::Both,
                ui::TuneVoices::MelodyLouder => Voices::MelodyLouder,
                ui::TuneVoices::ThumbLouder => Voices::ThumbLouder,
                ui::TuneVoices::MelodyAlone => Voices::MelodyAlone,
                ui::TuneVoices::ThumbAlone => Voices::ThumbAlone,
            })))
        }));
        to.on_tunings_wanted(self.does(|| does(TuneAction::TryTunings)));
        to.on_trying_stopped(self.does(|| does(TuneAction::StopTrying)));
        to.on_looked(self.sends(|index| at(index).map(|index| does(TuneAction::LookAt(index)))));
        to.on_home_looked(self.does(|| does(TuneAction::LookHome)));
        to.on_tuning_taken(self.does(|| does(TuneAction::TakeTuning)));
        to.on_retune_wanted(self.does(|| does(TuneAction::Retune)));
        to.on_removed(self.does(|| does(TuneAction::Remove)));
    }

    fn attach_tune_moment(self: &Rc<Self>) {
        let to = self.window().global::<ui::TuneState<'_>>();
        let decide = |decision: fn(usize) -> Decision| {
            self.sends(move |index: i32| at(index).map(|index| does(TuneAction::Decide(decision(index)))))
        };
        let by_finger = |decision: fn(Finger) -> Decision| {
            self.sends(move |text: SharedString| finger(&text).map(|on| does(TuneAction::Decide(decision(on)))))
        };
        to.on_hear_tapped(self.does(|| does(TuneAction::HearMoment)));
        to.on_melody_chosen(decide(Decision::Melody));
        to.on_melody_finger_chosen(by_finger(Decision::MelodyFinger));
        to.on_bass_chosen(decide(Decision::Bass));
        to.on_no_bass_chosen(self.does(|| does(TuneAction::Decide(Decision::NoBass))));
        to.on_bass_finger_chosen(by_finger(Decision::BassFinger));
        to.on_shape_chosen(decide(Decision::Shape));
        to.on_freed(self.does(|| does(TuneAction::Decide(Decision::Free))));
        to.on_all_freed(self.does(|| does(TuneAction::UndecideAll)));
        to.on_undone(self.does(|| does(TuneAction::Undo)));
    }

    /// Lets the player choose a file with a tune in it; it is read beside the window.
    fn choose_tune(&self) {
        let (answers, ring) = self.post();
        self.machine().pick(
            Pick::Open { folder: self.out_folder() },
            Box::new(move |picked| {
                let read = match picked {
                    Picked::Closed => return,
                    Picked::NoPicker => Err(FileFault::NoPicker),
                    Picked::Read(read) => read.map_err(FileFault::Unread),
                    Picked::File(path) => read_file(&path).map_err(|fault| FileFault::Unread(fault.to_string())),
                };
                let answer: Answer = Box::new(move |app| {
                    app.act(does(TuneAction::Enter(EnterAction::File(read))));
                });
                answers.lock().unwrap_or_else(PoisonError::into_inner).push(answer);
                ring();
            }),
        );
    }

    fn attach_tune_entry(self: &Rc<Self>) {
        let to = self.window().global::<ui::TuneState<'_>>();
        let enter = |action: EnterAction| does(TuneAction::Enter(action));
        let place = |action: fn(usize) -> EnterAction| {
            self.sends(move |index: i32| at(index).map(|index| enter(action(index))))
        };
        to.on_typed(self.types(move |text| enter(EnterAction::Typed(text))));
        to.on_read(self.does(move || enter(EnterAction::Read)));
        to.on_file_wanted(self.once(Self::choose_tune));
        to.on_taken(place(EnterAction::Take));
        let app = Rc::downgrade(self);
        to.on_neck_tapped(move |fret, string| {
            let Some(app) = app.upgrade() else { return };
            let found = at(fret)
                .zip(at(string))
                .and_then(|(fret, string)| app.with(|state| view::entry_place(state, fret, string)));
            if let Some((fret, course)) = found {
                app.act_soon(enter(EnterAction::Note { fret, course }));
            }
        });
        to.on_rest_tapped(self.does(move || enter(EnterAction::Rest)));
        to.on_length_chosen(place(EnterAction::Length));
        to.on_dot_tapped(self.does(move || enter(EnterAction::Dot)));
        to.on_metre_chosen(place(EnterAction::Metre));
        to.on_last_removed(self.does(move || enter(EnterAction::RemoveLast)));
        to.on_notes_taken(self.does(move || enter(EnterAction::TakeNotes)));
    }

    fn attach_pluck(self: &Rc<Self>) {
        let to = self.window().global::<ui::PluckState<'_>>();
        let pluck = |action: PluckAction| does(TuneAction::Pluck(action));
        let by = |action: fn(i16) -> PluckAction| {
            self.sends(move |by: i32| i16::try_from(by).ok().map(|by| pluck(action(by))))
        };
        let place = |action: fn(usize) -> PluckAction| {
            self.sends(move |index: i32| at(index).map(|index| pluck(action(index))))
        };
        to.on_wanted(self.does(move || pluck(PluckAction::Open)));
        to.on_tempo_moved(by(PluckAction::TempoBy));
        to.on_metre_chosen(place(PluckAction::Metre));
        to.on_part_chosen(place(PluckAction::Part));
        to.on_begun(self.does(move || pluck(PluckAction::Begin)));
        to.on_ended(self.does(move || pluck(PluckAction::End)));
        to.on_note_chosen(place(PluckAction::Select));
        to.on_pitch_moved(by(PluckAction::PitchBy));
        to.on_place_moved(by(PluckAction::PlaceBy));
        to.on_removed(self.does(move || pluck(PluckAction::Remove)));
        to.on_added(self.does(move || pluck(PluckAction::Add)));
        to.on_again(self.does(move || pluck(PluckAction::Again)));
        to.on_taken(self.does(move || pluck(PluckAction::Take)));
    }
}
