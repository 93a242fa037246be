"""Owns the test of proposals on twenty invented logs, and of what a proposal may not do."""

import json
import tomllib

import pytest

from analysis.cli import main
from analysis.errors import LogError
from analysis.log import read_log
from analysis.log.suggest.proposal import suggest
from analysis.units import UNITS

NO = dict(trip="Tur", date="Dato", start="Start kl", end="Slutt", area="Sted",
          rods="Antall stenger",
          rod="Stang", side="Side", gear="Utstyr", setting="Innstilling", line_out="Line ute",
          leader_length="Fortom", lure="Sluk", time_in="Ut kl", time_out="Opp kl",
          ended_by="Årsak", time="Kl", species="Art", outcome="Utfall", length="Lengde",
          weight="Vekt", speed="Fart", speed_kind="Type fart", surface_temp="Overflatetemp",
          depth="Dybde", temp="Temperatur")  # fmt: skip
NO_WORDS = dict(port="Babord", starboard="Styrbord", diver="Dykker", rigger="Dypvannsrigg",
                flat="Toppline", landed="Landet", lost="Mistet", released="Sluppet", missed="Bom",
                strike="Napp", moved="Flyttet", tangle="Floke", end="Slutt", water="Vann",
                ground="Grunn")  # fmt: skip
DE = dict(trip="Fahrt Nr", date="Datum", start="Beginn", end="Ende", area="Gewässer", rods="Ruten",
          rod="Rute", side="Seite", gear="Gerät", setting="Einstellung",
          line_out="Leine draußen",
          leader_length="Vorfachlänge", lure="Köder", time_in="Rein", time_out="Raus",
          ended_by="Grund", time="Uhrzeit", species="Fischart", outcome="Ergebnis",
          length="Länge", weight="Gewicht", speed="Geschwindigkeit", speed_kind="Fahrt über",
          surface_temp="Oberflächentemperatur", depth="Tiefe", temp="Temperatur")  # fmt: skip
DE_WORDS = dict(port="Backbord", starboard="Steuerbord", diver="Tauchscheibe", rigger="Rigger",
                flat="Flachleine", landed="gelandet", lost="verloren", released="zurückgesetzt",
                missed="Fehlbiss", strike="Biss", moved="umgesetzt", tangle="Verhedderung",
                end="Ende", water="Wasser", ground="Grund")  # fmt: skip
FR = dict(trip="Sortie", date="Date", start="Début", end="Fin", area="Lieu", rods="Nb cannes",
          rod="Canne", side="Côté", gear="Matériel", setting="Réglage", line_out="Ligne sortie",
          leader_length="Bas de ligne", lure="Leurre", time_in="Mise à l'eau",
          time_out="Relève", ended_by="Motif", time="Heure", species="Espèce",
          outcome="Résultat", length="Longueur", weight="Poids", speed="Vitesse",
          speed_kind="Type de vitesse", surface_temp="Temp. surface", depth="Profondeur",
          temp="Température")  # fmt: skip
FR_WORDS = dict(port="Bâbord", starboard="Tribord", diver="Plongeur", rigger="Downrigger",
                flat="Ligne plate", landed="Au sec", lost="Décroché", released="Relâché",
                missed="Raté", strike="Touche", moved="Déplacé", tangle="Emmêlé", end="Fin",
                water="Eau", ground="Fond", Jul="juillet")  # fmt: skip
SV = dict(trip="Tur", date="Datum", start="Start", end="Slut", area="Plats", rods="Antal spön",
          rod="Spö", side="Sida", gear="Redskap", setting="Inställning", line_out="Lina ute",
          leader_length="Tafs", lure="Bete", time_in="I", time_out="Upp", ended_by="Orsak",
          time="Klockan", species="Fisk", outcome="Resultat", length="Längd", weight="Vikt",
          speed="Hastighet", speed_kind="Fart över", surface_temp="Yttemperatur", depth="Djup",
          temp="Temperatur")  # fmt: skip
SV_WORDS = dict(port="Babord", starboard="Styrbord", diver="Dykare", rigger="Djuprigg",
                flat="Flatline", landed="Landad", lost="Tappad", released="Släppt",
                missed="Miss", strike="Hugg", moved="Flyttad", tangle="Trassel", end="Slut",
                water="Vatten", ground="Grund")  # fmt: skip
EN = dict(trip="Outing", date="Day", start="Lines in", end="Lines out", area="Where",
          rods="Rods out", rod="Pole", side="Boat side", gear="Presentation",
          setting="Dial", line_out="Feet out", leader_length="Leader", lure="Bait",
          time_in="Down", time_out="Up", ended_by="Why out", time="Time of strike",
          species="Fish", outcome="Result", length="Size", weight="Wt", speed="SOG",
          speed_kind="Kind of speed", surface_temp="SST", depth="Depth",
          temp="Water temp")  # fmt: skip
EN_WORDS = dict(port="P", starboard="Stbd", landed="Boated", lost="Came off", missed="Miss",
                strike="Hit", tangle="Tangled!")  # fmt: skip
NO_FILES = dict(trips="Turer", sets="Linjer", strikes="Fangst", readings="Målinger",
                casts="Temperaturprofiler")  # fmt: skip
DE_FILES = dict(trips="Ausfahrten", sets="Leinen", strikes="Fänge", readings="Messwerte",
                casts="Profile")  # fmt: skip


def habits(make, us, metric):
    """Return the twenty habits."""
    nautical = metric | {"speed": "kn"}
    mixed = us | {"speed": "kn", "temperature": "C"}
    spaced = {name: name.replace("_", " ").capitalize() for name in EN}
    shouted = {name: name.replace("_", "-").upper() for name in EN}
    numbered = {n: f"data{i}" for i, n in enumerate(("trips", "sets", "strikes", "readings"))}
    kinds = dict(trips="Outing", sets="Line", strikes="Fish", readings="Reading", casts="Profile")
    return [
        make("ours, units in headings"),
        make("capitals and spaces", headings=spaced, clock="%I:%M %p"),
        make("shouted, semicolons", headings=shouted, delimiter=";", said="cells"),
        make("short English", headings=EN, words=EN_WORDS, date="%m/%d/%Y", clock="%I:%M %p"),
        make("short English, cells", headings=EN, words=EN_WORDS, said="cells", clock="%H%M"),
        make("Norwegian", headings=NO, words=NO_WORDS, units=nautical, files=NO_FILES,
             delimiter=";", comma=True, date="%d.%m.%Y", clock="%H.%M", encoding="latin-1"),
        make("Norwegian, cells", headings=NO, words=NO_WORDS, units=metric, files=NO_FILES,
             said="cells", comma=True, delimiter="\t", date="%d/%m/%Y"),
        make("German", headings=DE, words=DE_WORDS, units=metric, files=DE_FILES, delimiter=";",
             comma=True, date="%d.%m.%y", clock="%H:%M Uhr", encoding="cp1252"),
        make("German workbook", headings=DE, words=DE_WORDS, units=metric, files=DE_FILES,
             form="xlsx"),
        make("French", headings=FR, words=FR_WORDS, units=metric, delimiter=";", comma=True,
             date="%d %b %Y", clock="%Hh%M"),
        make("French, cells, UTF-16", headings=FR, words=FR_WORDS, units=nautical, said="cells",
             encoding="utf-16", delimiter="\t", date="%d/%m/%Y"),
        make("Swedish", headings=SV, words=SV_WORDS, units=metric, date="%Y%m%d", clock="%H.%M"),
        make("Swedish workbook", headings=SV, words=SV_WORDS, units=metric, form="xlsx"),
        make("one table", headings=EN, words=EN_WORDS, form="one", files=kinds, kinds="What"),
        make("one sheet", headings=spaced, form="one sheet", said="cells"),
        make("files without a name", files=numbered, headings=spaced),
        make("files without a name, English", files=numbered, headings=EN, said="cells"),
        make("mixed units", headings=spaced, units=mixed),
        make("units nowhere", headings=EN, said="nowhere"),
        make("bars, strikes and trips only", headings=spaced, delimiter="|", said="cells",
             only=("trips", "strikes"), units=nautical, date="%d.%m.%Y"),
    ]  # fmt: skip


# of the season's strikes in order of time, as `habits.season` has them in inches
LENGTHS_M = [
    0.0254 * inches for inches in (*(22.5, 24, 25.5), *(22.5, 24, 25.5, 27), *(22.5, 24, 25.5))
]


@pytest.fixture(scope="module")
def logs(tmp_path_factory, log_habits):
    """Write every log; return habit, truth and what is proposed."""
    found = []
    for habit in habits(log_habits.Habit, log_habits.US, log_habits.METRIC):
        folder = tmp_path_factory.mktemp("log")
        truth = log_habits.write(habit, folder)
        found.append((habit, truth, suggest(folder), folder))
    return found


def scored(habit, truth, proposal):
    """Return columns found, columns there are, and those taken for another or in another table."""
    got = {
        (one.table, one.source.header[at]): column
        for one in proposal.matches
        for at, (column, _) in one.columns.items()
    }
    real = {(table, head): column for table, of in truth.items() for head, column in of.items()}
    right = sum(got.get(key) == column for key, column in real.items())
    return right, len(real), {key: (column, real.get(key)) for key, column in got.items()
                              if real.get(key) != column}  # fmt: skip


def test_nine_columns_in_ten_are_found_in_twenty_habits(logs):
    assert len(logs) == 20
    results = [(habit.name, *scored(habit, truth, found)) for habit, truth, found, _ in logs]
    right, real = sum(r[1] for r in results), sum(r[2] for r in results)
    assert right / real >= 0.9, results
    for name, found, there, wrong in results:
        assert found / there >= 0.8, (name, wrong)


def unit_lines(proposal):
    return [line for line in proposal.lines if line.table.startswith("units")]


def test_no_unit_is_wrong_and_what_nothing_tells_is_asked(logs, log_habits):
    for habit, truth, proposal, _ in logs:
        columns = {column for of in truth.values() for column in of.values()}
        used = {log_habits.QUANTITY[c] for c in columns if c in log_habits.QUANTITY}
        for line in unit_lines(proposal):
            quantity = line.key if line.table == "units" else log_habits.QUANTITY[line.key]
            if quantity in used and not line.question:
                assert json.loads(line.value) == habit.units[quantity], (habit.name, line)
        told = {line.key for line in unit_lines(proposal) if not line.question}
        if habit.said != "nowhere":
            assert set(UNITS) <= told, habit.name
        else:
            assert told <= {"temperature"}, habit.name


def test_every_line_has_a_reason_and_rows_that_show_it(logs):
    for habit, _, proposal, _ in logs:
        for line in proposal.lines:
            assert line.reason, (habit.name, line)
            alone = line.table in ("", "units")
            assert 1 <= len(line.rows) <= 3 or alone, (habit.name, line)


def answered(text):
    """Return a proposal with its questions answered as it shows them."""
    lines = text.splitlines()
    asked = [i + 1 for i, line in enumerate(lines) if line.startswith("# ?")]
    return "\n".join(
        line.removeprefix("# ") if i in asked else line for i, line in enumerate(lines)
    )


def test_what_is_proposed_is_toml_and_the_log_is_read_by_it(logs):
    for habit, _, proposal, folder in logs:
        tomllib.loads(proposal.text())
        if habit.said == "nowhere":
            continue
        (folder / "boat.toml").write_text(answered(proposal.text()), encoding="utf-8")
        log = read_log(folder)
        (folder / "boat.toml").unlink()
        lost = (habit.name, log.set_aside.to_dict("records")[:3])
        assert log.rows["set_aside"].sum() == 0, lost
        assert log.rows["kept"].tolist() == log.rows["read"].tolist(), lost
        assert len(log.strikes) == 10, lost
        lengths = log.strikes.sort_values(["time", "rod"])["length_m"]
        assert lengths.tolist() == pytest.approx(LENGTHS_M, abs=0.002), habit.name


def test_the_command_prints_and_writes_nothing(logs, capsys):
    _, _, proposal, folder = logs[3]
    before = {path: path.read_bytes() for path in folder.iterdir()}
    assert main(["check", "--suggest", str(folder)]) == 0
    assert capsys.readouterr().out == proposal.text() + "\n"
    assert before == {path: path.read_bytes() for path in folder.iterdir()}


def test_an_empty_folder_is_told(tmp_path):
    with pytest.raises(LogError, match=r"no CSV and no sheet"):
        suggest(tmp_path)


def test_text_of_the_log_cannot_leave_its_comment(tmp_path):
    (tmp_path / "fish.csv").write_text('Clock,Pole\n"05:20\nboat = ""x""",P1\n05:30,P2\n')
    text = suggest(tmp_path).text()
    assert tomllib.loads(text)["boat"] == tmp_path.name


def test_what_boat_toml_says_is_not_proposed_again(tmp_path):
    (tmp_path / "strikes.csv").write_text("trip,Clock,Pole\nT1,05:20,P1\nT1,05:30,P2\n")
    (tmp_path / "boat.toml").write_text('boat = "Dunlin"\n[columns.strikes]\nClock = "time"\n')
    keys = {(line.table, line.key) for line in suggest(tmp_path).lines}
    assert ("", "boat") not in keys
    assert ("columns.strikes", '"Clock"') not in keys
    assert ("columns.strikes", '"Pole"') in keys
