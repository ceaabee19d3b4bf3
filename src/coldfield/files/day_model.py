"""The day file line by line: what goes to the phone, and the items that come back.

An item is written once and never changed: corrections, undoing and restoring are separate items that name the
one they concern. `docs/day_file.md` explains how a list of items becomes a run.
"""

from __future__ import annotations

from typing import Annotated, Literal, get_args

from pydantic import Field

from coldfield.files.carried_picture import PhonePicture
from coldfield.files.day_places import Place
from coldfield.files.drill_model import (
    MOST_BURIALS,
    MOST_SEARCHERS,
    AnchorPart,
    Azimuth,
    BurialId,
    Part,
    PointM,
    RingM,
    SearcherId,
    ShortWords,
    Words,
)
from coldfield.files.faults import ID_PATTERN

FORMAT = "coldfield-day/1"

SeenCode = Literal[
    "danger_looked_at", "leader_named", "missing_counted", "call_made", "others_off_transmit", "phones_away",
    "surface_clues", "probe_left_in", "diggers_placed", "head_freed_by_hand",
]  # fmt: skip
"""What can be observed with one press; anything else is in the keeper's own words."""

SEEN: tuple[SeenCode, ...] = get_args(SeenCode)

Token = Annotated[str, Field(pattern=ID_PATTERN)]
"""A random id: 16 characters of letters, digits, - and _ hold 96 bits."""

Text = Annotated[str, Field(max_length=1000, pattern=r"^[^\x00-\x08\x0b-\x1f\x7f]*$")]
"""The keeper's own words; several lines are allowed."""

MaybeWords = Annotated[str, Field(max_length=200, pattern=r"^[^\x00-\x1f\x7f]*$")]
SplitName = Annotated[
    str, Field(min_length=1, max_length=64, pattern=r"^[^\x00-\x1f\x7f]*[^\s\x00-\x1f\x7f][^\x00-\x1f\x7f]*$")
]
"""The name of a split, as long as the records allow."""

WallMs = Annotated[int, Field(ge=0, le=4_102_444_800_000)]
"""Milliseconds since 1970 UTC by the phone's own clock, up to the year 2100."""

Count = Annotated[int, Field(ge=1, le=1_000_000)]
Depth = Annotated[float, Field(ge=0, le=10)]
Tilt = Annotated[float, Field(ge=-90, le=90)]
LookAt = Literal["battery", "errors", "receives", "transmits", "reading"]
Searchers = Annotated[list[SearcherId], Field(max_length=MOST_SEARCHERS)]


class CarriedBurial(Part):
    """One planned burial; the phone shows it in words, never as a place to walk to in a search."""

    id: BurialId
    position_m: PointM | None = None
    depth_m: Depth | None = None
    azimuth_deg: Azimuth | None = None
    tilt_deg: Tilt | None = None
    has_set: bool = True
    set: ShortWords | None = None


class CarriedPerson(Part):
    """Who searches; `set` is the stock number of the set they wear, for the group check."""

    id: SearcherId
    name: Words
    set: ShortWords | None = None


class CarriedCurve(Part):
    """A survival curve from burial on: minutes and share; included only if it is switched on.

    `code` is the code of its name in the catalogues; without it the name is shown as it is.
    """

    name: Words
    code: Annotated[str, Field(max_length=80, pattern=r"^term\.curve\.[a-z0-9_]+$")] | None = None
    points: Annotated[
        list[Annotated[list[Annotated[float, Field(ge=0, le=1440)]], Field(min_length=2, max_length=2)]],
        Field(min_length=2, max_length=200),
    ]
    burial_to_alarm_s: Annotated[float, Field(ge=0, le=86400)] = 60.0


class RunLine(Part):
    """A run that was prepared on the laptop, or started on a phone (`prepared` false, `drill_id` null).

    `picture` lies under the plan where sets are hidden; it goes to the phone in a file and stays there.
    """

    line: Literal["run"] = "run"
    id: Token
    name: MaybeWords
    prepared: bool
    drill_id: Token | None = None
    drill_version: Annotated[int, Field(ge=1, le=1_000_000)] | None = None
    drill_name: MaybeWords = ""
    burials: list[CarriedBurial] = Field(default_factory=list, max_length=MOST_BURIALS)
    anchors: list[AnchorPart] = Field(default_factory=list, max_length=50)
    boundary_m: RingM | None = None
    entry_m: PointM | None = None
    searchers: list[CarriedPerson] = Field(default_factory=list, max_length=MOST_SEARCHERS)
    own_splits: list[SplitName] = Field(default_factory=list, max_length=20)
    agreed_word: MaybeWords = ""
    emergency_number: MaybeWords = ""
    own_cautions: list[Words] = Field(default_factory=list, max_length=20)
    curve: CarriedCurve | None = None
    picture: PhonePicture | None = None


class HeadLine(Part):
    """The first line: what the file is and who wrote it."""

    line: Literal["head"] = "head"
    format: Literal["coldfield-day/1"] = "coldfield-day/1"
    made_by: Words
    made_ms: WallMs


class PhoneLine(Part):
    """A phone that wrote items; `keeper` is the person who had it."""

    line: Literal["phone"] = "phone"
    id: Token
    name: MaybeWords = ""
    keeper: MaybeWords = ""


class EndLine(Part):
    """The last line; without it the file is cut short. `sha256` covers all lines before it with their LF."""

    line: Literal["end"] = "end"
    lines: Count
    sha256: Annotated[str, Field(pattern=r"^[0-9a-f]{64}$")]


class ItemLine(Part):
    """The fields of every item.

    `n` counts a phone's items within one `of` from 1, without gaps. `page` is a random id for each
    time the page is loaded; `since_page_ms` is the time since then on a clock that nobody can set,
    and that some phones stop while they sleep.
    """

    line: Literal["item"] = "item"
    id: Token
    phone: Token
    n: Count
    of: Token
    wall_ms: WallMs
    page: Token
    since_page_ms: Annotated[float, Field(ge=0, le=1e11)]


class AlarmItem(ItemLine):
    """The alarm: it starts the run's clock and is the shared mark of all phones that press it together."""

    kind: Literal["alarm"] = "alarm"


class MarkItem(ItemLine):
    """Another shared mark: the same `mark` pressed on two phones at once, for one that missed the alarm."""

    kind: Literal["mark"] = "mark"
    mark: Count


class SplitItem(ItemLine):
    """A timed moment. `aside`: an equal split came less than 2 s before, so it counts only when restored."""

    kind: Literal["split"] = "split"
    split: SplitName
    burial: BurialId | None = None
    searcher: SearcherId | None = None
    aside: bool = False


class SeenItem(ItemLine):
    """An observation: a code, or the keeper's own words in `words` with `about` null."""

    kind: Literal["seen"] = "seen"
    about: SeenCode | None
    words: MaybeWords = ""
    seen: bool | None = True
    burial: BurialId | None = None
    searcher: SearcherId | None = None


class DigsItem(ItemLine):
    """Who digs at a burial from now on, the leading digger first; a later item replaces it."""

    kind: Literal["digs"] = "digs"
    burial: BurialId
    searchers: Searchers


class NoteItem(ItemLine):
    """A note at a moment."""

    kind: Literal["note"] = "note"
    words: Text
    burial: BurialId | None = None


class UndoItem(ItemLine):
    """The item `item` no longer counts."""

    kind: Literal["undo"] = "undo"
    item: Token


class RestoreItem(ItemLine):
    """The item `item` counts again: one that was undone, or a split that was kept aside."""

    kind: Literal["restore"] = "restore"
    item: Token


class AmendItem(ItemLine):
    """A corrected time, person or burial of the item `item`; null keeps it, '' clears person or burial."""

    kind: Literal["amend"] = "amend"
    item: Token
    at_ms: WallMs | None = None
    searcher: Annotated[str, Field(max_length=40)] | None = None
    burial: Annotated[str, Field(max_length=40)] | None = None


class BurialItem(ItemLine):
    """A burial that differs from the plan; `added` is also used for each burial of an unprepared run."""

    kind: Literal["burial"] = "burial"
    burial: BurialId
    state: Literal["as planned", "moved", "dropped", "added"]
    words: MaybeWords = ""


class SearcherItem(ItemLine):
    """A person who was added on the phone."""

    kind: Literal["searcher"] = "searcher"
    searcher: SearcherId
    name: Words


class HiddenItem(ItemLine):
    """A set as it was hidden (`when` 'hidden') or dug out ('dug out'); a later item replaces it.

    `out` says that the set was signed out of the stock by `by`. `transmits`: whether it was seen to transmit
    just before it was hidden. Null: unknown.
    """

    kind: Literal["hidden"] = "hidden"
    when: Literal["hidden", "dug out"]
    burial: BurialId
    set: ShortWords | None = None
    transmits: bool | None = None
    place: Place | None = None
    depth_m: Depth | None = None
    azimuth_deg: Azimuth | None = None
    tilt_deg: Tilt | None = None
    by: MaybeWords = ""
    out: bool = False


class SetItem(ItemLine):
    """Where a hidden set is: back ('in'), missing, or after a real emergency switched off or reported."""

    kind: Literal["set"] = "set"
    burial: BurialId
    set: ShortWords | None = None
    state: Literal["in", "missing", "switched off", "reported"]
    by: MaybeWords = ""


class TickItem(ItemLine):
    """A task at the end of a run, done or not."""

    kind: Literal["tick"] = "tick"
    what: Literal["pits_filled", "transmit_again", "full_check"]
    done: bool


class CloseItem(ItemLine):
    """The run is over. `missing`: burials whose set was not back; `words` say what is done about it."""

    kind: Literal["close"] = "close"
    missing: list[BurialId] = Field(default_factory=list, max_length=MOST_BURIALS)
    words: Text = ""


class StopItem(ItemLine):
    """The drill was stopped because of a real emergency."""

    kind: Literal["stop"] = "stop"


class CheckItem(ItemLine):
    """A group check begins; `of` is the check. `run` is the run that follows it, if any."""

    kind: Literal["check"] = "check"
    extent: Literal["full", "simple"]
    leader: MaybeWords = ""
    run: Token | None = None


class CheckedItem(ItemLine):
    """One person in a group check; a later item for the same `person` replaces it.

    `stage`: 'receives' while all receive and the leader transmits; 'transmits' while walking past;
    'leader' when the leader's own set is shown to the last person. `look_at` holds what the phone
    said needs attention.
    """

    kind: Literal["checked"] = "checked"
    stage: Literal["receives", "transmits", "leader"]
    person: SearcherId
    name: Words
    set: ShortWords | None = None
    battery_percent: Annotated[int, Field(ge=0, le=100)] | None = None
    errors: bool | None = None
    receives: bool | None = None
    transmits: bool | None = None
    reading_m: Annotated[float, Field(ge=0, le=200)] | None = None
    look_at: list[LookAt] = Field(default_factory=list, max_length=5)
    by: MaybeWords = ""
    words: MaybeWords = ""


class CheckEndItem(ItemLine):
    """The group check is over. `not_checked`: people who were explicitly left out."""

    kind: Literal["check_end"] = "check_end"
    not_checked: list[SearcherId] = Field(default_factory=list, max_length=MOST_SEARCHERS)


class BroughtItem(ItemLine):
    """The keeper confirmed that all items of this `of` up to `upto` (the phone's `n`) were brought back."""

    kind: Literal["brought"] = "brought"
    upto: Count


class SameItem(ItemLine):
    """The phone's name -> the drill's; written on the laptop when it joins a run. The latest counts."""

    kind: Literal["same"] = "same"
    burials: dict[BurialId, BurialId] = Field(default_factory=dict, max_length=MOST_BURIALS)
    searchers: dict[SearcherId, SearcherId] = Field(default_factory=dict, max_length=MOST_SEARCHERS)


class LeftOutItem(ItemLine):
    """Written on the laptop: the items of the phone `whose` for this `of` no longer count, or count again."""

    kind: Literal["left_out"] = "left_out"
    whose: Token
    out: bool


ON_THE_LAPTOP: tuple[type[ItemLine], ...] = (SameItem, LeftOutItem)
"""Kinds of items that no phone writes."""

Item = (
    AlarmItem
    | MarkItem
    | SplitItem
    | SeenItem
    | DigsItem
    | NoteItem
    | UndoItem
    | RestoreItem
    | AmendItem
    | BurialItem
    | SearcherItem
    | HiddenItem
    | SetItem
    | TickItem
    | CloseItem
    | StopItem
    | CheckItem
    | CheckedItem
    | CheckEndItem
    | BroughtItem
    | SameItem
    | LeftOutItem
)
ITEMS: dict[str, type[ItemLine]] = {model.model_fields["kind"].default: model for model in get_args(Item)}
"""Each kind of item with its form."""

LINES: dict[str, type[Part]] = {
    model.model_fields["line"].default: model for model in (HeadLine, PhoneLine, RunLine, EndLine)
}
"""Each other kind of line with its form."""
