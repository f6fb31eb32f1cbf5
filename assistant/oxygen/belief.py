"""A Gaussian over what a cylinder's estimate does not know: content, regulator scale, gauge bias, warmth.

Takes and gives plain numbers; immutable, no units but those named; refuses nothing. Pure arithmetic on 4 × 4 matrices,
written out, because loading numpy would take longer than all the arithmetic of an incident.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from math import log, pi

Row = tuple[float, float, float, float]
Matrix = tuple[Row, Row, Row, Row]


@dataclass(frozen=True, slots=True, kw_only=True)
class Belief:
    """Mean and covariance of (content in L; scale in tolerances of the set flow; gauge bias in bar; warmth in °C).

    Warmth is how much warmer the gas is than the temperature reckoned with.
    """

    mean: Row
    cov: Matrix

    @property
    def content_l(self) -> float:
        """The mean content, in litres."""
        return self.mean[0]


def begun(
    content_l: float,
    l_per_bar: float,
    l_per_celsius: float,
    bias_sd: float,
    noise_sd: float,
    scale: tuple[float, float],
    warmth_sd: float,
) -> Belief:
    """The belief after a first reading: the content is known only through the gauge, so it leans on bias and warmth."""
    scale_mean, scale_sd = scale
    with_bias = -l_per_bar * bias_sd**2
    with_warmth = l_per_celsius * warmth_sd**2
    spread = l_per_bar**2 * (bias_sd**2 + noise_sd**2) + (l_per_celsius * warmth_sd) ** 2
    return Belief(
        mean=(content_l, scale_mean, 0.0, 0.0),
        cov=(
            (spread, 0.0, with_bias, with_warmth),
            (0.0, scale_sd**2, 0.0, 0.0),
            (with_bias, 0.0, bias_sd**2, 0.0),
            (with_warmth, 0.0, 0.0, warmth_sd**2),
        ),
    )


def drained(belief: Belief, litres: float, by_scale_l: float, spread_l2: float = 0.0) -> Belief:
    """`belief` after `litres` went, and `by_scale_l` more for each tolerance that the regulator gives too much."""
    content, scale, bias, warmth = belief.mean
    (c00, c01, c02, c03), (_, c11, c12, c13), row2, row3 = belief.cov
    k = by_scale_l
    n00 = c00 - 2 * k * c01 + k * k * c11 + spread_l2
    n01, n02, n03 = c01 - k * c11, c02 - k * c12, c03 - k * c13
    return Belief(
        mean=(content - litres - k * scale, scale, bias, warmth),
        cov=(
            (n00, n01, n02, n03),
            (n01, c11, c12, c13),
            (n02, c12, row2[2], row2[3]),
            (n03, c13, row3[2], row3[3]),
        ),
    )


def _loosened(belief: Belief, place: int, keep: float, spread: float) -> Belief:
    """One unknown pulled towards nought by `keep`, with `spread` (a variance) of fresh uncertainty."""
    mean = list(belief.mean)
    rows = [list(row) for row in belief.cov]
    mean[place] *= keep
    for other in range(4):
        rows[place][other] *= keep
        rows[other][place] *= keep
    rows[place][place] += spread
    return Belief(
        mean=(mean[0], mean[1], mean[2], mean[3]),
        cov=tuple(tuple(row) for row in rows),  # type: ignore[arg-type]
    )


def another_setting(belief: Belief, keep: float, scale_sd: float) -> Belief:
    """The scale at another setting of the same regulator: akin to the last one (`keep`), not the same."""
    return _loosened(belief, 1, keep, (1 - keep * keep) * scale_sd**2)


def weathered(belief: Belief, keep: float, warmth_sd: float) -> Belief:
    """The warmth a while later: it forgets what it was (`keep`) and wanders within `warmth_sd`."""
    return _loosened(belief, 3, keep, (1 - keep * keep) * warmth_sd**2)


def needle(belief: Belief, l_per_bar: float, l_per_celsius: float) -> tuple[float, float]:
    """What the gauge should say, as litres: mean, and variance without the noise of a reading."""
    weights = (1.0, 0.0, l_per_bar, -l_per_celsius)
    mean = sum(w * m for w, m in zip(weights, belief.mean, strict=True))
    spread = sum(a * b * belief.cov[i][j] for i, a in enumerate(weights) for j, b in enumerate(weights))
    return mean, max(0.0, spread)


def observed(
    belief: Belief, content_l: float, l_per_bar: float, l_per_celsius: float, noise_l2: float
) -> tuple[Belief, float]:
    """`belief` after the gauge said `content_l`, and the log-likelihood of that.

    The gauge says content + l_per_bar × bias - l_per_celsius × warmth, give or take noise of variance `noise_l2`.
    """
    cov = belief.cov
    gain = [row[0] + l_per_bar * row[2] - l_per_celsius * row[3] for row in cov]
    spread = gain[0] + l_per_bar * gain[2] - l_per_celsius * gain[3] + noise_l2
    off = content_l - (belief.mean[0] + l_per_bar * belief.mean[2] - l_per_celsius * belief.mean[3])
    g0, g1, g2, g3 = gain
    rows = tuple(
        (row[0] - g * g0 / spread, row[1] - g * g1 / spread, row[2] - g * g2 / spread, row[3] - g * g3 / spread)
        for row, g in zip(cov, gain, strict=True)
    )
    step = off / spread
    m0, m1, m2, m3 = belief.mean
    after = Belief(
        mean=(m0 + g0 * step, m1 + g1 * step, m2 + g2 * step, m3 + g3 * step),
        cov=(rows[0], rows[1], rows[2], rows[3]),
    )
    return after, -0.5 * (off * step + log(2 * pi * spread))


def merged(parts: Iterable[tuple[float, Belief]]) -> Belief:
    """The one Gaussian with the mean and covariance of a weighted mixture; weights need not sum to one."""
    parts = list(parts)
    total = sum(weight for weight, _ in parts)
    parts = [part for part in parts if part[0] > 1e-9 * total]
    if len(parts) == 1:
        return parts[0][1]
    total = sum(weight for weight, _ in parts)
    m0 = m1 = m2 = m3 = 0.0
    for weight, belief in parts:
        b0, b1, b2, b3 = belief.mean
        share = weight / total
        m0, m1, m2, m3 = m0 + share * b0, m1 + share * b1, m2 + share * b2, m3 + share * b3
    c00 = c01 = c02 = c03 = c11 = c12 = c13 = c22 = c23 = c33 = 0.0
    for weight, belief in parts:
        (b0, b1, b2, b3), (row0, row1, row2, row3) = belief.mean, belief.cov
        o0, o1, o2, o3 = b0 - m0, b1 - m1, b2 - m2, b3 - m3
        share = weight / total
        c00 += share * (row0[0] + o0 * o0)
        c01 += share * (row0[1] + o0 * o1)
        c02 += share * (row0[2] + o0 * o2)
        c03 += share * (row0[3] + o0 * o3)
        c11 += share * (row1[1] + o1 * o1)
        c12 += share * (row1[2] + o1 * o2)
        c13 += share * (row1[3] + o1 * o3)
        c22 += share * (row2[2] + o2 * o2)
        c23 += share * (row2[3] + o2 * o3)
        c33 += share * (row3[3] + o3 * o3)
    return Belief(
        mean=(m0, m1, m2, m3),
        cov=((c00, c01, c02, c03), (c01, c11, c12, c13), (c02, c12, c22, c23), (c03, c13, c23, c33)),
    )
