"""The same setup on the display mesh: 72 526 vertices with rays and bounces of their own, as one would light them who
has no coarser mesh to calculate on."""

from __future__ import annotations

from dataclasses import replace

from referees.convergence import fine_bust

from sitterlight.shading.geometry import Stage
from sitterlight.shading.lighting import Body
from sitterlight.shading.resolve_skin import resolve_skin
from sitterlight.shading.staging import Setup, spread_of, stage_light, surface_of

from .lit import BOUNCES


def on_display_mesh(setup: Setup) -> Setup:
    """The setup on the fine bust. Takes a minute, most of it for its rays."""
    sitting, head = setup.sitting, fine_bust()
    stage = Stage(head, *surface_of(sitting), setup.stage.rotation, True, None, BOUNCES, sitting.skin.under_skin)
    lighting, look = stage_light(stage, setup.sources), stage.look(setup.sources, setup.eye)
    return replace(setup, head=head, stage=stage, lighting=lighting, look=look, body=body_on(stage, setup))


def body_on(stage: Stage, setup: Setup) -> Body:
    """The skin of a setup as another stage, whose blurs may be others, wants it."""
    skin = setup.sitting.skin
    return Body(setup.body.albedo, spread_of(stage, resolve_skin(skin, setup.sitting.folder), skin.regions))
