"""What is seen of a running session: the transcript, the glance board on the terminal, and the board as a page."""

from __future__ import annotations

import contextlib
import sys
import threading
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace

from rich.console import Console
from rich.live import Live

from assistant.cli.screen import shown
from assistant.journal.reading import Entry
from assistant.replay.transcript import line_of
from assistant.report.board import Glance, board, glance
from assistant.report.board_page import page_file, picture
from assistant.report.transcript_text import text_line
from assistant.report.wording import Words
from assistant.session.loop import Session

EVERY_S = 10.0
"""So often what is left of a wait is looked at anew."""
Watch = Callable[[Sequence[Entry]], None]


def shown_in(words: Words) -> Watch:
    """What prints the transcript live, in the session's language."""

    def show(entries: Sequence[Entry]) -> None:
        for entry in entries:
            line = line_of(entry)
            if line is not None:
                print(text_line(line, words), flush=True)

    return show


@contextlib.contextmanager
def watching(session: Callable[[], Session], words: Words, *, screen: bool, port: int | None) -> Iterator[Watch]:
    """Show what is due: on the terminal in large figures or as a transcript, and on a page if a port is given.

    Args:
        session: gives the session, once it runs.
        words: of the language that the transcript is printed in.
        screen: the board on the terminal; on what is no terminal the transcript is printed as usual.
        port: of the page; None for no page.

    Raises:
        BadSettings: the port cannot be had.
    """
    with contextlib.ExitStack() as undo:
        drawn: list[Callable[[Glance], None]] = []
        if port is not None:
            drawn.append(undo.enter_context(_page(port)))
        console = Console(highlight=False)
        printed = not (screen and console.is_terminal)
        if not printed:
            drawn.append(undo.enter_context(_on_terminal(console)))
        if drawn:
            yield undo.enter_context(_kept_current(session, words, drawn, printed=printed))
        else:
            yield shown_in(words)


@contextlib.contextmanager
def _kept_current(
    session: Callable[[], Session], words: Words, drawn: Sequence[Callable[[Glance], None]], *, printed: bool
) -> Iterator[Watch]:
    """Draw after every entry, and while a wait runs from time to time."""
    last, turn, over = "", threading.Lock(), threading.Event()
    show = shown_in(words)

    def draw() -> None:
        now = session()
        seen = glance(now.state, last, left_s=now.seconds_left())
        with turn:
            for each in drawn:
                each(seen)

    def update(entries: Sequence[Entry]) -> None:
        nonlocal last
        lines = [line for line in map(line_of, entries) if line is not None]
        last = text_line(lines[-1], words) if lines else last
        if printed:
            show(entries)
        draw()

    def tick() -> None:
        while not over.wait(EVERY_S):
            if session().state.dialogue == "waiting":
                draw()

    clock = threading.Thread(target=tick, name="board clock", daemon=True)
    clock.start()
    try:
        yield update
    finally:
        over.set()
        clock.join(1.0)


@contextlib.contextmanager
def _on_terminal(console: Console) -> Iterator[Callable[[Glance], None]]:
    with Live(console=console, screen=True, auto_refresh=False) as live:

        def draw(seen: Glance) -> None:
            width, height = console.size
            live.update(board(_clean(seen), width=width, height=height), refresh=True)

        yield draw


def _clean(seen: Glance) -> Glance:
    """Without signs that a terminal would obey: names and questions come from files that anybody may have written."""
    figures = tuple((shown(label), shown(figure)) for label, figure in seen.figures)
    words = {name: shown(getattr(seen, name)) for name in ("heading", "text", "say", "place", "joint", "last")}
    return replace(seen, figures=figures, **words)


@contextlib.contextmanager
def _page(port: int) -> Iterator[Callable[[Glance], None]]:
    from assistant.devices.board_server import BoardServer  # only who asks for the page pays for its library

    server = BoardServer(page_file, port)
    print(f"The board is at {server.url}", file=sys.stderr)
    try:
        yield lambda seen: server.show(picture(seen))
    finally:
        server.close()
