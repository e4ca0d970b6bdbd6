"""What the window shows of the light that was worked out for it: on the stages, in the panels, plane by plane."""

from __future__ import annotations

from collections.abc import Callable

from sitterlight.shading.sitting import Sitting
from sitterlight.viewer import turns
from sitterlight.viewer.appearance import remembered
from sitterlight.viewer.background import Answer, Background, Request
from sitterlight.viewer.engine import Lit
from sitterlight.viewer.looks import Appearance
from sitterlight.viewer.pointer import pointer_words


class Answers:
    """Asks a background to light what the model holds, and passes on what comes back.

    The stages are served from the beginning; panels that are made later join in with `serve_panels`.
    """

    def __init__(self, window):
        self.window, self.model, self.stages = window, window.model, window.stages
        self.background = Background(window)
        self.counted_lit: Lit | None = None  # whose rows the table shows, a little behind
        self._serves_panels = False
        self._sayings = self.stages.notice.sayings  # how many sentences an answer may take back
        background = self.background
        for signal, show in (
            (background.glimpsed, self.stages.show_glimpse),
            (background.answered, self._answered),
            (background.counted, self._counted),
            (background.weighed, self._weighed),
            (background.mixed, self._mixed),
            (background.planned, self._planned),
            (background.looked, self.show_view),
            (background.compared, self.stages.show_difference),
            (background.failed, self._failed),
        ):
            signal.connect(lambda *told, show=show: self._in_turn(show, *told))
        for stage in self.stages.all:
            stage.plotter.drawn.connect(background.note_drawn)
        background.progressed.connect(window.status.show_progress)
        background.idle.connect(lambda: window.status.show_progress(None))
        window.status.stopped.connect(background.stop)
        self.model.on("chosen", self._show_chosen)
        first, second = self.stages.first, self.stages.second
        first.pointed.connect(lambda face, weights: self._point(window.lit, face, weights))
        second.pointed.connect(lambda face, weights: self._point(second.lit, face, weights))
        self.stages.compared.connect(background.compare)

    def serve_panels(self) -> None:
        """Serve the panels too, with what has been worked out so far."""
        window, lit = self.window, self.window.lit
        self._serves_panels = True
        window.table.chosen.connect(self._table_chosen)
        if lit is None:
            return
        told = self._tell_panels(lit)
        if told:
            self._say(told, lit)
        known = ("rows", self._counted), ("light_mix", self._weighed), ("mixed", self._mixed), ("plan", self._planned)
        for name, tell in known:
            if lit.has(name):
                self._in_turn(tell, lit)

    def _in_turn(self, show: Callable[..., object], *told) -> None:
        """Show what was told once it has its turn, for much may be told at once; of a stage or head the last counts."""
        of = told[0].request.place if isinstance(told[0], Answer) else told[0]
        turns.soon(self.background, (show.__name__, of), lambda: show(*told))

    # ---- lighting

    def ask(self) -> None:
        """Have the model's state lit."""
        state = self.model.state
        self._sayings = self.stages.notice.sayings
        self._exchange()
        self.background.ask(self._request("first", state.sitting))
        if state.held is not None:
            self.background.ask(self._request("second", state.held))
        else:
            self.background.forget("second")

    def _exchange(self) -> None:
        """Show two heads that are only exchanged at once: nothing of them has to be worked out anew."""
        state, at_hand, held = self.model.state, self.stages.second.lit, self.window.lit
        if at_hand is None or held is None or not (at_hand.exact and held.exact):
            return
        if (at_hand.sitting, held.sitting) != (state.sitting, state.held) or at_hand.sitting == held.sitting:
            return
        if not at_hand.gaze == held.gaze == state.looks_from:
            return
        looks, others = self._appearance(at_hand), self._appearance(held)
        if looks is None or others is None:
            return
        self.window.lit = at_hand
        self.stages.show_second(held, others)
        self.stages.show_first(at_hand, looks, state.looks_from)
        if self._serves_panels:
            self._tell_panels(at_hand)
        if at_hand.has("rows"):
            self._counted(at_hand)

    def _request(self, place: str, sitting: Sitting) -> Request:
        window, model = self.window, self.model
        return Request(place, sitting, model.state.looks_from, model.view, window.value_count, window.mark)

    def _answered(self, answer: Answer) -> None:
        window, lit = self.window, answer.lit
        if answer.request.place == "second":
            if self.model.state.held is not None:
                self.stages.show_second(lit, self._looks(answer))
            return
        if not lit.exact and window.kept is not None and window.kept.sitting == lit.sitting:
            return  # the picture that is shown is better
        window.lit, window.kept = lit, None
        gaze = None if self.stages.first.is_dragged else self.model.state.looks_from
        self.stages.show_first(lit, self._looks(answer), gaze)
        told = self._tell_panels(lit) if self._serves_panels else ""
        self._say(told, lit)

    def _say(self, told: str, lit: Lit) -> None:
        """What there is to tell of a lit head; what was said of something else since it was asked for stays."""
        words = told if lit.exact else _first_picture(told)
        if told or self.stages.notice.sayings == self._sayings:
            self.stages.say(words)
            self._sayings = self.stages.notice.sayings

    def _tell_panels(self, lit: Lit) -> str:
        window = self.window
        window.lights.show_lit(lit)
        window.eye.show_lit(lit)
        return window.planes_of_head.show_head(lit.head, lit.exact)

    def _looks(self, answer: Answer) -> Appearance:
        """The answer's appearance, or that of the view chosen meanwhile, which comes later where it isn't ready."""
        return self._appearance(answer.lit) or answer.appearance

    def _counted(self, lit: Lit) -> None:
        self.stages.lesson.tell(self.stages.second.lit, self.window.lit)
        if lit is self.window.lit and self._serves_panels:
            self.counted_lit = lit
            self.window.table.show_rows(lit.rows)
            self._show_chosen_soon()

    def _weighed(self, lit: Lit) -> None:
        if lit is self.window.lit and self._serves_panels:
            self.window.lights.show_mix(lit.light_mix)
            self._show_chosen_soon()

    def _mixed(self, lit: Lit) -> None:
        if lit is self.window.lit and self._serves_panels:
            self.counted_lit = lit
            self.window.table.show_rows(lit.mixed_rows)
            self.window.rooms.take_mixed(lit)
            self._show_chosen_soon()

    def _planned(self, lit: Lit) -> None:
        if self._serves_panels:
            self.window.rooms.show_planned(lit)

    def _failed(self, place: str, sentence: str) -> None:
        self.stages.say(sentence)
        self.window.status.show_progress(None)
        if self._serves_panels:
            self.window.rooms.show_failed(place, sentence)

    # ---- views

    def _appearance(self, lit: Lit) -> Appearance | None:
        """How a lit head looks in the chosen view; None where that has first to be worked out, which begins."""
        wanted = (self.model.view, self.window.value_count, self.window.mark)
        looks = remembered(lit, *wanted)
        if looks is None:
            self.background.look(lit, *wanted)
        return looks

    def show_view(self, only: Lit | None = None) -> None:
        """Show the chosen view on both stages, or where this lit head is."""
        for stage in (self.stages.first, self.stages.second):
            if stage.lit is not None and (only is None or stage.lit is only):
                looks = self._appearance(stage.lit)
                if looks is not None:
                    self.stages.show_looks(stage, looks)

    # ---- planes

    def _show_chosen_soon(self) -> None:
        turns.soon(self.background, "chosen", self._show_chosen)

    def _show_chosen(self) -> None:
        chosen, is_idle = self.model.chosen, not turns.are_waiting()
        for stage in self.stages.all:
            stage.mark_plane(chosen)
        if not self._serves_panels:
            return
        self.window.table.choose(chosen)
        if is_idle:
            self._show_rooms()
        else:  # as where one plane after the other is chosen, faster than they are drawn
            turns.soon(self.background, "rooms", self._show_rooms)

    def _show_rooms(self) -> None:
        window, chosen = self.window, self.model.chosen
        if chosen is None or not self._has_row(chosen):
            window.rooms.show_nothing()
            return
        current = window.table.current
        stroke = current[1] if current is not None and current[0] == chosen else None
        window.rooms.show_plane(self.counted_lit, window.table.rows[chosen], stroke)

    def _has_row(self, number: int) -> bool:
        """Whether the table's row of a plane is of the lit head: another one's rows come a little after it."""
        lit, rows = self.window.lit, self.window.table.rows
        if lit is None or self.counted_lit is None or number >= min(len(rows), len(lit.head.planes)):
            return False
        row, plane = rows[number], lit.head.planes[number]
        return (row.name, row.side) == (plane.name, plane.side)

    def _table_chosen(self, number: int) -> None:
        if number < 0 or not self._has_row(number):
            return
        table, rooms = self.window.table, self.window.rooms
        if number == self.model.chosen:
            rooms.show_plane(self.counted_lit, table.rows[number], table.current[1])
        self.model.choose(number)
        if table.current:
            rooms.show_plane(self.counted_lit, table.rows[number], table.current[1])

    def _point(self, lit: Lit | None, face: int, weights) -> None:
        self.window.status.reading.setText("" if lit is None or face < 0 else pointer_words(lit, face, weights))


def _first_picture(told: str) -> str:
    """What is said of a head that is not lit exactly yet, before what else there is to tell."""
    return f"First picture: nothing blocks the light yet. Casting rays … {told}".strip()
