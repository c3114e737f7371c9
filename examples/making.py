"""The examples as a file: every scene is played once, in order, to a service that has just been born."""

import tempfile
from pathlib import Path

import orjson

from examples.asking import Asking
from examples.book_scenes import play_books
from examples.customer_scenes import play_customers
from examples.enquiry_scenes import play_enquiries
from examples.offline_scenes import play_offline
from examples.quote_scenes import play_quotes
from examples.recording import Recording
from examples.shown import shown
from examples.webhook_scenes import play_webhooks

ROOT = Path(__file__).parents[1]
EXAMPLES = ROOT / "quoter" / "api" / "description" / "examples.json"

SCENES = (play_quotes, play_books, play_enquiries, play_customers, play_webhooks)
"""Each is handed somebody who asks; a later one finds what an earlier one has left."""


def recording() -> Recording:
    """What every scene has brought about."""
    kept = Recording()
    with tempfile.TemporaryDirectory() as folder:
        asking = Asking(Path(folder), kept)
        try:
            for play in SCENES:
                play(asking)
            play_offline(asking)
        finally:
            asking.close()
    return kept


def made() -> bytes:
    """The same bytes however often it is made: ids and links that are drawn by lot are replaced."""
    kept = recording()
    data = shown(kept.data(), kept.drawn_by_lot)
    return orjson.dumps(data, option=orjson.OPT_INDENT_2) + b"\n"
