"""`pulldrop schema`: JSON Schemas, for editors of YAML files and for readers of `--json`."""

from enum import StrEnum
from typing import Annotated, Any

import typer


class Subject(StrEnum):
    """The first seven describe files, the others what `--json` answers."""

    PROTOCOL = "protocol"
    CRATE = "crate"
    RATING = "rating"
    SIBLINGS = "siblings"
    SPECIMEN = "specimen"
    RECORDS = "records"
    ROW = "row"
    RESULT = "result"
    IDENTIFIED = "identified"
    DEMO = "demo"
    PARTS = "parts"
    PART = "part"
    HEALTH = "health"
    FLEET = "fleet"
    PROTOCOLS = "protocols"
    PLAN = "plan"
    SPECIMENS = "specimens"
    CHECK = "check"
    BOARDS = "boards"
    BOARD = "board"
    SELF_TEST = "self-test"
    CALIBRATION = "calibration"
    CALIBRATIONS = "calibrations"
    GOLDEN = "golden"
    STUDY = "study"
    STORE_INFO = "store-info"
    VERIFIED = "verified"
    BACKUP = "backup"
    IMPORT = "import"
    JUDGEMENT = "judgement"
    CONFIG = "config"
    DOCTOR = "doctor"
    ERROR = "error"


def schema(
    subject: Annotated[
        Subject,
        typer.Argument(
            metavar="SUBJECT",
            help="Of files: protocol, crate, rating, siblings, specimen, records (.json of report),"
            " row (.csv, .parquet). The others are answers of --json, such as result (of test) and judgement (of store"
            " rejudge).",
        ),
    ],
) -> None:
    """Print the JSON Schema of a file or an answer."""
    from pulldrop.cli.show import screen

    screen.print_json(_schema(subject))


def _schema(subject: Subject) -> dict[str, Any]:
    from pydantic import TypeAdapter

    from pulldrop.cli.show import answers
    from pulldrop.cli.show.history.parts import PartAnswer
    from pulldrop.jobs.calibrate.study import Study
    from pulldrop.jobs.run.identify import Identified
    from pulldrop.jobs.self_test.bench import SelfTest
    from pulldrop.model.bench.identity import Identity
    from pulldrop.model.bench.kit import CalibrationRecord, Golden
    from pulldrop.model.history.fleet import Fleet
    from pulldrop.model.history.history import Health
    from pulldrop.model.part.parts_page import PartView
    from pulldrop.model.part.reference import TypeReference
    from pulldrop.model.run.judgement import Judgement
    from pulldrop.model.run.plan import Plan
    from pulldrop.model.run.record import RunRecord
    from pulldrop.model.run.row import MeasurementRow
    from pulldrop.plant.parts import AnySpecimen
    from pulldrop.protocol import schema as files
    from pulldrop.store import Info, Verified
    from pulldrop.store.exchange.origins import ImportResult

    match subject:
        case Subject.PROTOCOL:
            return files.protocol_schema()
        case Subject.CRATE:
            return files.crate_schema()
        case Subject.RATING:
            return files.rating_schema()
        case Subject.SPECIMEN:
            made = TypeAdapter(AnySpecimen).json_schema()
            return {"$schema": files.DRAFT, **made, "title": "pulldrop specimen"}
    answered: dict[Subject, Any] = {
        Subject.SIBLINGS: TypeReference,
        Subject.RESULT: RunRecord,
        Subject.RECORDS: tuple[RunRecord, ...],
        Subject.ROW: MeasurementRow,
        Subject.IDENTIFIED: Identified,
        Subject.DEMO: answers.DemoAnswer | answers.DemoYearsAnswer,
        Subject.PARTS: tuple[PartView, ...],
        Subject.PART: PartAnswer,
        Subject.HEALTH: Health,
        Subject.FLEET: Fleet,
        Subject.PROTOCOLS: answers.ProtocolsAnswer,
        Subject.PLAN: Plan,
        Subject.SPECIMENS: tuple[answers.SpecimenLine, ...],
        Subject.CHECK: answers.CheckAnswer | tuple[answers.CheckAnswer, ...],
        Subject.BOARDS: tuple[Identity, ...],
        Subject.BOARD: answers.BoardAnswer,
        Subject.SELF_TEST: SelfTest,
        Subject.CALIBRATION: CalibrationRecord,
        Subject.CALIBRATIONS: tuple[CalibrationRecord, ...],
        Subject.GOLDEN: Golden,
        Subject.STUDY: Study,
        Subject.STORE_INFO: Info,
        Subject.VERIFIED: Verified,
        Subject.BACKUP: answers.BackupAnswer,
        Subject.IMPORT: ImportResult,
        Subject.JUDGEMENT: Judgement,
        Subject.CONFIG: answers.ConfigAnswer,
        Subject.DOCTOR: answers.DoctorAnswer,
        Subject.ERROR: answers.ErrorAnswer,
    }
    made = TypeAdapter(answered[subject]).json_schema(mode="serialization")
    return {"$schema": files.DRAFT, **made, "title": f"pulldrop {subject}"}
