//! What each control of the songs' screens sends; files go out.

use std::rc::Rc;

use slint::{ComponentHandle, SharedString};

use crate::instrument::Fret;
use crate::songs::{LineTold, SetListId, SongId};
use crate::store::Decision;
use crate::theory::Naming;

use crate::app::action::Action;
use crate::app::exchange::{ExchangeAction, Out};
use crate::app::files::FileFor;
use crate::app::playing::PlayingAction;
use crate::app::set_list::SetListAction;
use crate::app::song::{SongAction, capos, open_song};
use crate::app::song_edit::SongEditAction;
use crate::app::song_tuning::SongTuningAction;
use crate::app::songs::{SongsAction, SongsView};
use crate::app::stage::StageAction;
use crate::app::{Room, playing_song, ui, view};

use super::app::App;
use super::taps::at;

impl App {
    /// Sends every tap on the songs' screens back as an action.
    pub(super) fn attach_songs(self: &Rc<Self>) {
        self.attach_song_lists();
        self.attach_song();
        self.attach_song_editor();
        self.attach_set_list();
        self.attach_playing();
        self.attach_tune();
        self.attach_exchange();
        self.attach_hand_out();
    }

    fn attach_song_lists(self: &Rc<Self>) {
        let to = self.window().global::<ui::SongsState<'_>>();
        to.set_songs(view::song_rows(&self.listed_songs, Rc::downgrade(self)));
        to.set_choices(view::song_rows(&self.listed_choices, Rc::downgrade(self)));
        let song = |text: &SharedString| text.parse().ok().map(SongId);
        to.on_searched(self.types(|text| Action::Songs(SongsAction::Search(text))));
        to.on_view_chosen(self.sends(|view| {
            Some(Action::Songs(SongsAction::View(match view {
                ui::SongsView::Songs => SongsView::Songs,
                ui::SongsView::SetLists => SongsView::SetLists,
            })))
        }));
        to.on_song_tapped(self.sends(move |id| song(&id).map(|id| Action::Songs(SongsAction::Open(id)))));
        to.on_list_tapped(
            self.sends(|id: SharedString| {
                id.parse().ok().map(|id| Action::Songs(SongsAction::OpenList(SetListId(id))))
            }),
        );
        to.on_song_made(self.does(|| Action::Songs(SongsAction::New)));
        to.on_list_made(self.does(|| Action::Songs(SongsAction::NewList)));
        to.on_demo_wanted(self.does(|| Action::Songs(SongsAction::Demo)));
        to.on_choosing_searched(self.types(|text| Action::Songs(SongsAction::ChoosingSearch(text))));
        to.on_chosen(self.sends(move |id| song(&id).map(|id| Action::Songs(SongsAction::Choose(id)))));
        to.on_chosen_again(self.sends(move |id| song(&id).map(|id| Action::Songs(SongsAction::ChooseAgain(id)))));
        to.on_sort_tapped(self.does(|| Action::Songs(SongsAction::Sort)));
        to.on_export_put_off(self.does(|| Action::Exchange(ExchangeAction::PutOff)));
        to.on_swiped_away(self.sends(move |id| song(&id).map(|id| Action::Songs(SongsAction::Delete(id)))));
        let to = self.window().global::<ui::ShapesState<'_>>();
        to.on_used_in_song(self.does(|| Action::Songs(SongsAction::UseShape)));
        to.on_used_in_another(self.does(|| Action::Songs(SongsAction::UseShapeIn)));
        let to = self.window().global::<ui::AppState<'_>>();
        to.on_undone(self.does(|| Action::Undo));
        let to = self.window().global::<ui::RetuneState<'_>>();
        to.on_song_wanted(self.does(|| Action::Stage(StageAction::Play)));
    }

    fn attach_song(self: &Rc<Self>) {
        let to = self.window().global::<ui::SongState<'_>>();
        let by = |by: i32| i16::try_from(by).ok();
        to.on_edited(self.does(|| Action::Song(SongAction::Edit)));
        to.on_played(self.does(|| Action::Song(SongAction::Play)));
        to.on_transposed(self.sends(move |steps| by(steps).map(|by| Action::Song(SongAction::Transpose(by)))));
        to.on_capos_wanted(self.does(|| Action::Song(SongAction::ShowCapos)));
        let app = Rc::downgrade(self);
        to.on_capo_taken(move |index| {
            let Some(app) = app.upgrade() else { return };
            let capo: Option<Fret> = app.with(|state| {
                let song = open_song(state)?;
                capos(state.habits(), song).get(at(index)?).map(|place| place.capo)
            });
            if let Some(capo) = capo {
                app.act_soon(Action::Song(SongAction::TakeCapo(capo)));
            }
        });
        to.on_chord_tapped(self.sends(|index| at(index).map(|index| Action::Song(SongAction::Chord(index)))));
        to.on_chord_turned(self.sends(move |steps| by(steps).map(|by| Action::Song(SongAction::ChordBy(by)))));
        to.on_shape_used(self.does(|| Action::Song(SongAction::UseShape)));
        to.on_shape_dropped(self.does(|| Action::Song(SongAction::DropShape)));
        to.on_shapes_wanted(self.does(|| Action::Song(SongAction::ToShapes)));
        to.on_comparison_wanted(self.does(|| Action::Song(SongAction::Compare)));
        to.on_tuning_taken(self.does(|| Action::Song(SongAction::TakeTuning)));
        to.on_text_wanted(self.does(|| Action::Song(SongAction::Out)));
    }

    fn attach_song_editor(self: &Rc<Self>) {
        let to = self.window().global::<ui::SongEditorState<'_>>();
        let typed = |action: fn(String) -> SongEditAction| self.types(move |text| Action::SongEdit(action(text)));
        to.on_title_typed(typed(SongEditAction::Title));
        to.on_from_typed(typed(SongEditAction::From));
        to.on_key_typed(typed(SongEditAction::Key));
        to.on_tempo_typed(typed(SongEditAction::Tempo));
        to.on_chart_typed(typed(SongEditAction::Chart));
        to.on_notes_typed(typed(SongEditAction::Notes));
        to.on_lines_tapped(self.does(|| Action::SongEdit(SongEditAction::ShowLines)));
        to.on_line_tapped(self.sends(|line| at(line).map(|line| Action::SongEdit(SongEditAction::Line(line)))));
        to.on_told(self.sends(|told| {
            Some(Action::SongEdit(SongEditAction::Tell(match told {
                ui::ToldKind::Itself => LineTold::Itself,
                ui::ToldKind::Words => LineTold::Words,
                ui::ToldKind::Chords => LineTold::Chords,
            })))
        }));
        to.on_naming_chosen(self.sends(|naming| {
            Some(Action::SongEdit(SongEditAction::Naming(match naming {
                ui::NoteNaming::English => Naming::English,
                ui::NoteNaming::German => Naming::German,
                ui::NoteNaming::Solfege => Naming::Solfege,
            })))
        }));
        to.on_capo_moved(
            self.sends(|by| i16::try_from(by).ok().map(|by| Action::SongEdit(SongEditAction::CapoBy(by)))),
        );
        to.on_tuning_wanted(self.does(|| Action::SongEdit(SongEditAction::Tuning)));
        to.on_deleted(self.does(|| Action::SongEdit(SongEditAction::Delete)));
        to.on_done(self.does(|| Action::SongEdit(SongEditAction::Done)));
        to.on_tuning_searched(self.types(|text| Action::SongTuning(SongTuningAction::Search(text))));
        to.on_tuning_chosen(
            self.sends(|id: SharedString| Some(Action::SongTuning(SongTuningAction::Choose(id.into())))),
        );
        to.on_now_chosen(self.does(|| Action::SongTuning(SongTuningAction::Now)));
    }

    fn attach_set_list(self: &Rc<Self>) {
        let to = self.window().global::<ui::SetListState<'_>>();
        let place = |action: fn(usize) -> SetListAction| {
            self.sends(move |index| at(index).map(|index| Action::SetList(action(index))))
        };
        to.on_titled(self.types(|text| Action::SetList(SetListAction::Title(text))));
        to.on_edit_tapped(self.does(|| Action::SetList(SetListAction::Edit)));
        to.on_song_tapped(place(SetListAction::Song));
        to.on_pinned(place(SetListAction::Pin));
        to.on_taken_out(place(SetListAction::TakeOut));
        to.on_page_turned(place(SetListAction::Page));
        to.on_taken_back(self.does(|| Action::SetList(SetListAction::TakeBack)));
        let app = Rc::downgrade(self);
        to.on_moved(move |index, by| {
            let moved = at(index).zip(i16::try_from(by).ok());
            if let Some((app, (index, by))) = app.upgrade().zip(moved) {
                app.act_soon(Action::SetList(SetListAction::MoveBy(index, by)));
            }
        });
        to.on_add_wanted(self.does(|| Action::SetList(SetListAction::Add)));
        to.on_ordered(self.does(|| Action::SetList(SetListAction::Order)));
        to.on_ordering_stopped(self.does(|| Action::SetList(SetListAction::StopOrdering)));
        to.on_deleted(self.does(|| Action::SetList(SetListAction::Delete)));
        to.on_out_wanted(self.does(|| Action::SetList(SetListAction::Out)));
        to.on_text_wanted(self.does(|| Action::SetList(SetListAction::OutAsText)));
        to.on_begun(self.does(|| Action::Stage(StageAction::Begin)));
        to.on_begun_at(self.sends(|index| at(index).map(|index| Action::Stage(StageAction::From(index)))));
        to.on_gone_on(self.does(|| Action::Stage(StageAction::GoOn)));
        to.on_ended(self.does(|| Action::Stage(StageAction::End)));
    }

    fn attach_playing(self: &Rc<Self>) {
        let to = self.window().global::<ui::PlayState<'_>>();
        to.on_tapped(self.does(|| Action::Playing(PlayingAction::Tap)));
        to.on_next(self.does(|| Action::Playing(PlayingAction::Next)));
        to.on_swiped_on(self.does(|| Action::Playing(PlayingAction::SwipeOn)));
        to.on_before(self.does(|| Action::Playing(PlayingAction::Before)));
        to.on_from_the_top(self.does(|| Action::Playing(PlayingAction::FromTheTop)));
        let app = Rc::downgrade(self);
        to.on_jumped(move |section| {
            let Some(app) = app.upgrade() else { return };
            let line = app.with(|state| {
                let chart = playing_song(state)?.read_chart();
                let sections = chart.sections();
                let titled = sections.iter().filter(|section| section.title.is_some());
                titled.map(|section| section.lines.start).nth(at(section)?)
            });
            if let Some(line) = line {
                app.act_soon(Action::Playing(PlayingAction::Jump(line)));
            }
        });
        to.on_by_itself_tapped(self.does(|| Action::Playing(PlayingAction::ToggleClock)));
        let app = Rc::downgrade(self);
        to.on_ticked(move || {
            if let Some(app) = app.upgrade() {
                app.tick(now_ms());
            }
        });
        to.on_tempo_tapped(self.does(|| Action::Playing(PlayingAction::TempoTap(now_ms()))));
        let by = |by: i32| i16::try_from(by).ok();
        to.on_tempo_moved(self.sends(move |steps| by(steps).map(|by| Action::Playing(PlayingAction::TempoBy(by)))));
        to.on_look_tapped(self.does(|| Action::Playing(PlayingAction::ShowLook)));
        let step = |by: i32| i8::try_from(by).ok();
        to.on_words_moved(self.sends(move |steps| step(steps).map(|by| Action::Playing(PlayingAction::WordsBy(by)))));
        to.on_chords_moved(self.sends(move |steps| step(steps).map(|by| Action::Playing(PlayingAction::ChordsBy(by)))));
        to.on_shapes_tapped(self.does(|| Action::Playing(PlayingAction::ShowShapes)));
        to.on_click_tapped(self.does(|| Action::Playing(PlayingAction::Click)));
        let app = Rc::downgrade(self);
        to.on_room_changed(move |width, height, letter, has_shapes_beside| {
            if let Some(app) = app.upgrade() {
                let room = Room { width, height, letter, has_shapes_beside };
                app.act_soon(Action::Playing(PlayingAction::Room(room)));
            }
        });
        to.on_capo_placed(self.does(|| Action::Playing(PlayingAction::CapoIsThere)));
        to.on_next_song_wanted(self.does(|| Action::Stage(StageAction::Next)));
        to.on_closed(self.does(|| Action::Back));
    }

    fn attach_exchange(self: &Rc<Self>) {
        let to = self.window().global::<ui::ExchangeState<'_>>();
        to.on_put_off(self.does(|| Action::Exchange(ExchangeAction::PutOff)));
        to.on_copied(self.does(|| Action::Exchange(ExchangeAction::Copied)));
        to.on_library_out(self.does(|| Action::Exchange(ExchangeAction::Out(Out::Library))));
        to.on_file_wanted(self.once(|app| app.choose(FileFor::Export)));
        to.on_typed(self.types(|text| Action::Exchange(ExchangeAction::Typed(text))));
        to.on_read(self.once(Self::read_pasted));
        to.on_page_turned(self.sends(|page| at(page).map(|page| Action::Exchange(ExchangeAction::Page(page)))));
        to.on_all_decided(self.sends(|takes_in| Some(Action::Exchange(ExchangeAction::DecideAll(takes_in)))));
        let app = Rc::downgrade(self);
        to.on_decided(move |index, decision| {
            let decision = match decision {
                ui::ItemDecision::Leave => Decision::Leave,
                ui::ItemDecision::Add => Decision::Add,
                ui::ItemDecision::Replace => Decision::Replace,
            };
            if let Some((app, index)) = app.upgrade().zip(at(index)) {
                app.act_soon(Action::Exchange(ExchangeAction::Decide(index, decision)));
            }
        });
        to.on_taken_in(self.does(|| Action::Exchange(ExchangeAction::TakeIn)));
        to.on_forgotten(self.does(|| Action::Exchange(ExchangeAction::Forget)));
    }
}

/// The time of the window's own clock, in milliseconds: what its timers and animations go by.
pub(super) fn now_ms() -> f64 {
    let now = i_slint_core::animations::current_tick();
    now.duration_since(i_slint_core::animations::Instant(0)).as_secs_f64() * 1000.0
}
