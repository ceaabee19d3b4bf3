"""What of the service's texts a page does not say, and which words stand for a value in a sentence."""

from __future__ import annotations

import re

UNSAID_MODULES = (
    "__main__",
    "app/records/data.py",
    "app/debriefs/options.py",
    "app/debriefs/lines.py",
    "app/demo/demo.py",
    "app/drills/files.py",
    "app/records/keeping.py",
    "app/drills/picture_files.py",
    "app/rehearsals/probing.py",
    "app/hearing/readiness.py",
    "app/rehearsals/pictures.py",
    "app/hearing/pictures.py",
    "beacon/calibration.py",
    "beacon/envelope_detection.py",
    "beacon/field.py",
    "beacon/hearing_grid.py",
    "beacon/interference.py",
    "beacon/pulses.py",
    "cli/",
    "debrief/tracks/device_noise.py",
    "debrief/tracks/smooth.py",
    "debrief/tracks/file_owners.py",
    "drill/grid.py",
    "drill/skills.py",
    "app/day/clock.py",
    "files/clock_page.py",
    "files/day_model.py",
    "files/debrief_html.py",
    "files/hearing_bytes.py",
    "files/lane_files.py",
    "files/wording.py",
    "files/one_page.py",
    "message.py",
    "pictures/",
    "records/checking.py",
    "records/database.py",
    "records/folder.py",
    "records/forget/columns.py",
    "records/forget/copies.py",
    "records/migrate.py",
    "records/migrations/",
    "records/underway.py",
    "records/wiping.py",
    "rescue/compare.py",
    "rescue/kernel/",
    "rescue/player/approach.py",
    "rescue/player/crew.py",
    "rescue/player/world.py",
    "rescue/wording.py",
    "search/pinpointing/fine_search.py",
    "search/pinpointing/probe_lines.py",
    "search/width/theory.py",
    "web/app.py",
    "web/page.py",
    "web/serving.py",
)
_PROTOCOL = (
    r".*(charset|attachment;|frame-ancestors|default-src|max-age=|camera=|no route|event: job|broke off).*",
    # to SQLite and PostgreSQL
    r"(BEGIN|PRAGMA|RESET|SELECT|SET|VACUUM) .*",
    # values of the day file
    r"(as planned|dug out|switched off|this clock)",
    # descriptions of routes
    r"A (group's own figures|new record needs|track of a run with) .*|(Create( or change)?|Read|Delete) one Qaro.*",
    r"One (page of a list|split with its own id|line for each record).*|How many records of each kind.*|The (drill that is asked|reader's date|record's version|run_id of).*",
    r"What was (guessed|kept) .*|`data` is a job .*|The (body is the file|run of the file that is meant).*",
    r"(Join it to this run|Make a new run of this drill|Keep nothing; tell what would .*)\.|JSON: `burials`.*",
    r"Input should be|must be|Value error, |an object 11|lanes: .*",
)
_INVENTED = (
    r"Hollow Larch.*|Vardholm Bowl|blade bent|Run 1, made.*|\(forgotten person\)|Coldfield drill file.*",
)
_NAMES = (
    # of choices, each with its own word in the catalogue
    r"on (foot|ski|snowshoe)|list and each|(in|out of) use|to check|own sectors|line abreast|least time|cannot tell|nothing found",
    r"a (fast|median|slow|failed) run|left over|(file|track) name|(alarm|first) split|first track point|get ready|getting ready|other work|working out",
    r"reading of 3 m|closest approach|(direction|signal) lost|not heard|too long|no direction|not known",
    r"never heard|heard, but lost again|deeper than the probes reach|probed, not struck|nobody has a probe",
    r"no set, and the probe line .*|dry rock or frozen ground|(dry|wet) soil|bog or clay",
    r"in line|side by side|(upright|level) to (level|upright)|level, (along|across) the lane|worst of all",
    r"(\w+-)*(north|east|south)\w* to [\w-]+|level square.*|second search at half.*|counts as lost",
)
_SOURCES = (
    r"(.*(19|20)\d\d, .*|Nature 368.*|abstract, and .*|quoted by .*|(flat|after|held) .*(memory|curve|kind))",
    r"a straight line from 1 .*|the middle of the printed .*",
)
_TERMINAL = (
    r"(Edge|Sweep|Timed) width: 11.*|Range today.*|Lanes apart.*|Meier's estimate.*|Over conducting ground.*",
    r"For training and planning\. The group's own.*|Qaro at 11 m east.*|.*--crs.*|neither tracks nor splits given.*|no track was recorded, so .*|cannot be made a.*",
    r"window_s: .*|simulated: made .*|before a ridge|in a gap",
)
_OTHER_PROGRAMS = (
    # notes beside answers, for who asks the service without the page
    r"free space(: ground and snow|, definite).*|each set is judged alone: .*|the set is held .*|the reading is that of .*|a set with one antenna has no line.*|has no line: one antenna.*",
    r"both sites are laid .*|a level set at the surface .*|an indication only.*|pulses that overlap at all .*",
    r"periods drift .*",
)
_GUARDS = (
    # of functions whose askers have checked their figures
    r"a flux line starts .*|a relative permittivity .*|a time under the snow .*|area, searchers and .*",
    r"both passes must .*|depth_m and density.*|digging needs .*|distances must .*|give each layer .*|ground of your own .*",
    r"no ground 'Qaro'.*|no offset_m .*|noise_rise_db .*|one searcher alone .*|parts of a rehearsal .*|position_m must .*",
    r"the field over ground .*|the flux line through .*|the site's origin .*|the walk leads .*|thicknesses, .*",
    r"lines: must be from .*|times of the scenario .*|worth needs .*",
)
_PAPER = (
    r"(Never bury|One named person|Practise only|See that each|Sets of other groups|Tell the rescue) .*",
)
"""Cautions of stages that have sentences of their own in the catalogue."""

NOT_SAID = re.compile(
    "|".join((*_PROTOCOL, *_INVENTED, *_NAMES, *_SOURCES, *_TERMINAL, *_OTHER_PROGRAMS, *_GUARDS, *_PAPER)),
    re.DOTALL,
)
"""Texts of other modules that no page says."""

ALTERNATIVES: dict[str, dict[str, tuple[str, ...]]] = {
    "debrief/findings/yardsticks.py": {
        "_what(phase.phase)": ("Signal search", "Coarse search", "Fine search", "Probing", "Digging"),
        "_what(what)": ("Signal search", "Probing", "Alarm to strike", "Alarm to free airway"),
        "of": ("", " of {name}"),
        "words": ("{d} s to {d} min {d} s",),
    },
    "drill/ground_screen.py": {
        "_WINDS[k]": ("north-east",),
        "where": ("north, south-west",),
        "why": ("before a ridge", "in a gap"),
    },
    "app/debriefs/gather.py": {"what": ("searcher", "burial")},
}
