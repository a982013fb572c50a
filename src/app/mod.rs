//! The app: what is shown and what a tap does, then how it gets to the window.
//!
//! [`State`] and [`State::update`] know no window and are tested without one; a file holds each screen's choices.
//! `view` turns the state into what Slint shows, `window` fills the window and sends its taps back as [`Action`]s, and
//! `pictures` draws every `scene` without a display, for tests and for those who look; what is handed out is without them.

mod action;
#[cfg(feature = "ui-tests")]
mod contact_sheet;
mod desk;
mod drawn;
mod ears;
mod exchange;
mod explained;
mod favourites;
mod files;
mod guide;
mod guitar;
mod hand_out;
mod instrument;
mod keeping;
mod kept;
mod key_plan;
mod look;
mod neck;
mod next;
mod notice;
mod ordering;
mod own_tuning;
mod pick;
#[cfg(feature = "ui-tests")]
mod pictures;
mod place;
mod playing;
mod reminder;
mod retune;
#[cfg(feature = "scenes")]
mod scenes;
mod screen;
mod set_list;
mod settings;
mod shapes;
mod song;
mod song_edit;
mod song_tuning;
mod songs;
mod stage;
mod stage_page;
mod state;
mod string_entry;
mod tune;
mod tune_sound;
mod tunings;
mod undo;
#[cfg(feature = "app")]
mod view;
#[cfg(feature = "app")]
mod window;

#[cfg(feature = "app")]
pub use pegwise_ui as ui;

pub use action::{Action, Update};
pub use desk::Desk;
pub use drawn::{Field, MOST_BYTES, MOST_LINES, MOST_OF_LINE, cut, line, lines};
pub use ears::{
    Ask, Ears, EarsAction, HeardString, Hearing, Mic, MicUse, Plucked, Ringing, Score, Sound, Take, Told, Turning,
    WOBBLES_PER_S, Watch, WatchedReference, WatchedString, Worker, follow, hide, string_make,
};
pub use exchange::{CameIn, Exchange, ExchangeAction, Out, Outgoing};
pub use explained::{ExplainAction, Term};
pub use favourites::Habits;
pub use files::{FileFor, FilesAction, TypedPath};
pub use guide::{Guide, GuideAction, Hint, Lesson};
pub use guitar::{Guitar, Stage, StringsTold};
pub use hand_out::{HandOut, HandOutAction, HandedOut, SheetFormat};
pub use instrument::{InstrumentAction, InstrumentFields};
pub use keeping::{Keeper, LONGEST_TYPED};
pub use kept::{Kept, KeptAction, MOST_PARTS, Wanted, part_pages};
pub use key_plan::{KeyPlan, KeyPlanAction};
pub use look::{LookAction, LookedAt};
pub use neck::{NeckAction, NeckLook, NeckShows};
pub use notice::Notice;
pub use ordering::{OrderAnswer, OrderQuestion, OrderTold, Ordering};
pub use own_tuning::{Editing, OwnTuningAction, OwnTuningFault};
pub use pick::{PickAction, Picking, QUALITIES, ROOTS};
#[cfg(feature = "ui-tests")]
pub use pictures::{PictureError, draw_screens};
pub use playing::{BEATS_A_BAR, Clock, PlayView, Playing, PlayingAction, lasts_s, playing_song, view as play_view};
pub use reminder::{ExportDue, PUT_OFF_DAYS, REMINDED_AFTER_DAYS, WORTH_A_REMINDER, export_due};
pub use retune::RetuneAction;
#[cfg(feature = "scenes")]
pub use scenes::{Scene, scenes};
pub use screen::{Screen, Tab};
pub use set_list::{
    MOST_PLACES, OpenSetList, SetListAction, SetRow, Suggestion, Verdict, can_take_back, lasts_seconds, open_list,
    pages as set_pages, rows as set_rows, seconds_of_all, total_seconds,
};
pub use settings::SettingsAction;
pub use shapes::{ChordSet, Filters, Gap, Labels, MOST_SHAPES, OpenShapes, ShapesAction};
pub use song::{OpenSong, SongAction, SongChord, capos, chords, held, in_other_tuning, open_song, shapes_of};
pub use song_edit::{SongEditAction, SongEditing};
pub use song_tuning::{
    Choices as TuningChoices, SongTuningAction, TuningChoice, TuningFor, list as tunings_for_a_song,
};
pub use songs::{ChoosingFor, SongsAction, SongsList, SongsSort, SongsView, list_choices, sorted_songs};
pub use stage::{StageAction, UnderWay, next_song, under_way};
pub use stage_page::{Over, Page, PageRow, Room, RowKind, fit, rows as page_rows};
pub use state::State;
pub use string_entry::{MATERIALS, StringEntry, StringEntryAction};
pub use tune::{
    Asking, Decision, DrawnPiece, EnterAction, Entered, FileFault, FingerMove, Fitting, HearTune, LENGTHS, Letters,
    METRES, Moment, NeckNote, OpenTune, OtherTuning, PARTS, Piece, PluckAction, PluckPhase, PluckPlace, Plucking,
    ShapeChoice, StepView, System, TabLook, TabPage, TabRoom, TabWords, Trial, TrialQuestion, TuneAction, TuneEntry,
    TunePlaying, TuneQuestion, TuneTold, TuneTrouble, Voices, Worked, finger_moves, fret_name, is_tune_screen, moment,
    now_at, step_view, tune_song,
};
pub use tune_sound::{TuneHearing, plucked_notes, tune_strikes};
pub use tunings::{GoesOn, Group, Listed, Row, TuningsAction, TuningsList, TuningsView, goes_on, list};
pub use undo::Undo;
#[cfg(feature = "app")]
pub use window::App;
