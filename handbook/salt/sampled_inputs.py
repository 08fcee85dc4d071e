"""Samples of the uncertain inputs of an uptake run, and the piece in each sample."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from handbook.base.arrays import Floats
from handbook.base.errors import RangeError
from handbook.salt.diffusion import geometry
from handbook.salt.stage_start import LEAST_WATER, SampledPiece, SampledStage
from handbook.salt.uptake_inputs import STAGE_INPUTS, uncertain_inputs
from handbook.salt.uptake_records import InputShare, Piece, SoluteState, Stage
from handbook.uncertainty.sampling import Draws, UncertainInput


class SampledInputs:
    """All uncertain inputs as samples, shape (1 + samples,), the typical run first."""

    def __init__(self, piece: Piece, stages: Sequence[Stage], samples: int, others: Sequence[UncertainInput] = ()):
        self.piece, self.stages = piece, stages
        self._inputs = {each.key: each for each in (*uncertain_inputs(piece, stages), *others)}
        wide = [key for key, each in self._inputs.items() if each.range.is_wide]
        self._draws = Draws(wide, samples)

    def draw(self, name: str, stage: int | None = None) -> Floats:
        """Samples of one input; 0 for an input that the stage does not have."""
        if (name, stage) not in self._inputs:
            return np.zeros(1 + self._draws.samples)
        return self._draws.of(self._inputs[name, stage])

    def positions(self, name: str) -> Floats:
        """Position of each sample along the range of an input of the whole run: 0 typical, -1 and 1 the ends."""
        if (name, None) not in self._inputs:
            return np.zeros(1 + self._draws.samples)
        return self._draws.positions(self._inputs[name, None])

    def by_stage(self, sampled: SampledPiece) -> Iterator[tuple[Stage, SampledStage]]:
        """Each stage with its inputs."""
        sources = {"diffusivity": self.piece.salt_diffusivity, "sugar diffusivity": self.piece.sugar_diffusivity}
        for index, stage in enumerate(self.stages):
            temperature = self.draw("temperature", index)
            rates = []
            for name, source in sources.items():
                value, factor = source.values(temperature)
                rates.append(value * factor ** self.positions(name) / sampled.lengths**2)
            amounts = {field: self.draw(name, index) for name, field in STAGE_INPUTS.items()}
            yield (
                stage,
                SampledStage(
                    duration=amounts.pop("duration"), salt_rate=rates[0], sugar_rate=rates[1], amounts=amounts
                ),
            )

    def shares(self, results: Floats) -> tuple[InputShare, ...]:
        """Share of the spread of ``results``, shape (1 + samples,), that each input causes."""
        return tuple(InputShare(name, stage, part) for (name, stage), part in self._draws.parts_of_spread(results))


def sampled_piece(piece: Piece, inputs: SampledInputs) -> tuple[SampledPiece, SoluteState]:
    """Samples of the piece, and its state before the first stage.

    L = thickness / 2 (thickness with a closed face), solids = kept (1 - water - native salt), W = kept water - lost before

    Parameters
    ----------
    piece : Piece
    inputs : SampledInputs

    Returns
    -------
    SampledPiece
    SoluteState

    Raises
    ------
    RangeError  water and native salt sum to 1 or more, or an aspect is over 200

    Notes
    -----
    Source: geometry and mass balance; no empirical constant. Valid for uniform green food.

    Examples
    --------
    >>> from handbook.salt.salt_example import CHOP, SOAK
    >>> sampled, state = sampled_piece(CHOP, SampledInputs(CHOP, [SOAK], 0))
    >>> sampled.lengths.tolist(), sampled.solids.tolist(), state.water.tolist()
    ([0.01], [0.25], [0.75])
    """
    whole = 1.0 if piece.skin_closed else 0.5
    length = whole * piece.thickness.typical
    others = [each / 2 for each in (piece.width, piece.length) if each is not None]
    if piece.shape in ("slab", "sphere"):
        others = []
    kind = "slab" if piece.shape == "block" and not others else piece.shape
    shape = geometry(kind, tuple(each / length for each in others))
    relative = inputs.draw("thickness") / piece.thickness.typical
    if others:
        # Keep the aspects of a block and match its open surface / volume, which determines the uptake.
        across = 2 if piece.shape == "cylinder" else 1
        fixed = sum(length / each for each in others)
        relative = (across + fixed) / (across / relative + fixed)
    lengths = length * relative
    water, native = inputs.draw("food water"), inputs.draw("native salt")
    if (water + native).max() >= 1:
        raise RangeError("water_fraction", float((water + native).max()), "below 1 together with the food's own salt")
    kept = inputs.draw("kept after trimming")
    sampled = SampledPiece(shape=shape, lengths=lengths, solids=kept * (1 - water - native))
    moisture = np.maximum(kept * water - inputs.draw("water lost before"), LEAST_WATER)
    return sampled, SoluteState(
        salt=shape.uniform(kept * native),
        sugar=np.zeros((len(water), shape.size)),
        moisture=shape.uniform(moisture),
    )
