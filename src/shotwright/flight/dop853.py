"""One step of the eighth-order Runge-Kutta formula of Dormand and Prince.

Only the velocity relative to the air and the spin are integrated: no force depends on the place. The place
is a quadrature of the same stages, x + h v + h^2 sum(Q_j a_j) with Q = b^T A. The sums are written out, so
the same text runs compiled for a batch and plain for one flight, and neither keeps a table in memory.

Coefficients: Hairer, Norsett, Wanner, "Solving Ordinary Differential Equations I", 2nd ed. (1993), II.5 and
II.10 (the code DOP853); the tests compare them with a library's copy.
"""

from __future__ import annotations

import math

from shotwright.flight.laws import PackedLaw
from shotwright.flight.motion import Body, Rate, State, acceleration

A02_01 = 0.05260015195876773
A03_01 = 0.0197250569845379
A03_02 = 0.0591751709536137
A04_01 = 0.02958758547680685
A04_03 = 0.08876275643042054
A05_01 = 0.2413651341592667
A05_03 = -0.8845494793282861
A05_04 = 0.924834003261792
A06_01 = 0.037037037037037035
A06_04 = 0.17082860872947386
A06_05 = 0.12546768756682242
A07_01 = 0.037109375
A07_04 = 0.17025221101954405
A07_05 = 0.06021653898045596
A07_06 = -0.017578125
A08_01 = 0.03709200011850479
A08_04 = 0.17038392571223998
A08_05 = 0.10726203044637328
A08_06 = -0.015319437748624402
A08_07 = 0.008273789163814023
A09_01 = 0.6241109587160757
A09_04 = -3.3608926294469414
A09_05 = -0.868219346841726
A09_06 = 27.59209969944671
A09_07 = 20.154067550477894
A09_08 = -43.48988418106996
A10_01 = 0.47766253643826434
A10_04 = -2.4881146199716677
A10_05 = -0.590290826836843
A10_06 = 21.230051448181193
A10_07 = 15.279233632882423
A10_08 = -33.28821096898486
A10_09 = -0.020331201708508627
A11_01 = -0.9371424300859873
A11_04 = 5.186372428844064
A11_05 = 1.0914373489967295
A11_06 = -8.149787010746927
A11_07 = -18.52006565999696
A11_08 = 22.739487099350505
A11_09 = 2.4936055526796523
A11_10 = -3.0467644718982196
A12_01 = 2.273310147516538
A12_04 = -10.53449546673725
A12_05 = -2.0008720582248625
A12_06 = -17.9589318631188
A12_07 = 27.94888452941996
A12_08 = -2.8589982771350235
A12_09 = -8.87285693353063
A12_10 = 12.360567175794303
A12_11 = 0.6433927460157636

B01 = 0.054293734116568765
B06 = 4.450312892752409
B07 = 1.8915178993145003
B08 = -5.801203960010585
B09 = 0.3111643669578199
B10 = -0.1521609496625161
B11 = 0.20136540080403034
B12 = 0.04471061572777259

Q01 = 0.05429373411656877
Q06 = 2.96687526183494
Q07 = 1.4186384244858756
Q08 = -4.016218126161175
Q09 = 0.10850859975965002
Q10 = -0.06086437986500647
Q11 = 0.028766485829147193

D01 = -0.18980075407240762
D06 = 4.450312892752409
D07 = 1.8915178993145003
D08 = -5.801203960010585
D09 = -0.4226823213237919
D10 = -0.1521609496625161
D11 = 0.20136540080403034
D12 = 0.02265179219836082

E01 = 0.01312004499419488
E06 = -1.2251564463762044
E07 = -0.4957589496572502
E08 = 1.6643771824549864
E09 = -0.35032884874997366
E10 = 0.3341791187130175
E11 = 0.08192320648511571
E12 = -0.022355307863886294


def advance(
    state: State, rate: Rate, h: float, body: Body, drag: PackedLaw, lift: PackedLaw
) -> tuple[State, float]:
    """Advance a flight by `h` seconds.

    Parameters
    ----------
    state : State
        Place, velocity relative to the air, spin.
    rate : Rate
        Acceleration and spin rate at `state`.
    h : float
        Step. [s]
    body : Body
        The ball in this air.
    drag, lift : PackedLaw
        Its coefficients.

    Returns
    -------
    state : State
        State after the step.
    error : float
        Estimated error of its velocity; the spin counts by the speed of the ball's surface. [m/s]
    """
    px, py, pz, ux, uy, uz, spin = state
    x1, y1, z1, w1 = rate
    x = ux + h * (A02_01 * x1)
    y = uy + h * (A02_01 * y1)
    z = uz + h * (A02_01 * z1)
    w = spin + h * (A02_01 * w1)
    x2, y2, z2, w2 = acceleration(x, y, z, w, body, drag, lift)
    x = ux + h * (A03_01 * x1 + A03_02 * x2)
    y = uy + h * (A03_01 * y1 + A03_02 * y2)
    z = uz + h * (A03_01 * z1 + A03_02 * z2)
    w = spin + h * (A03_01 * w1 + A03_02 * w2)
    x3, y3, z3, w3 = acceleration(x, y, z, w, body, drag, lift)
    x = ux + h * (A04_01 * x1 + A04_03 * x3)
    y = uy + h * (A04_01 * y1 + A04_03 * y3)
    z = uz + h * (A04_01 * z1 + A04_03 * z3)
    w = spin + h * (A04_01 * w1 + A04_03 * w3)
    x4, y4, z4, w4 = acceleration(x, y, z, w, body, drag, lift)
    x = ux + h * (A05_01 * x1 + A05_03 * x3 + A05_04 * x4)
    y = uy + h * (A05_01 * y1 + A05_03 * y3 + A05_04 * y4)
    z = uz + h * (A05_01 * z1 + A05_03 * z3 + A05_04 * z4)
    w = spin + h * (A05_01 * w1 + A05_03 * w3 + A05_04 * w4)
    x5, y5, z5, w5 = acceleration(x, y, z, w, body, drag, lift)
    x = ux + h * (A06_01 * x1 + A06_04 * x4 + A06_05 * x5)
    y = uy + h * (A06_01 * y1 + A06_04 * y4 + A06_05 * y5)
    z = uz + h * (A06_01 * z1 + A06_04 * z4 + A06_05 * z5)
    w = spin + h * (A06_01 * w1 + A06_04 * w4 + A06_05 * w5)
    x6, y6, z6, w6 = acceleration(x, y, z, w, body, drag, lift)
    x = ux + h * (A07_01 * x1 + A07_04 * x4 + A07_05 * x5 + A07_06 * x6)
    y = uy + h * (A07_01 * y1 + A07_04 * y4 + A07_05 * y5 + A07_06 * y6)
    z = uz + h * (A07_01 * z1 + A07_04 * z4 + A07_05 * z5 + A07_06 * z6)
    w = spin + h * (A07_01 * w1 + A07_04 * w4 + A07_05 * w5 + A07_06 * w6)
    x7, y7, z7, w7 = acceleration(x, y, z, w, body, drag, lift)
    x = ux + h * (A08_01 * x1 + A08_04 * x4 + A08_05 * x5 + A08_06 * x6 + A08_07 * x7)
    y = uy + h * (A08_01 * y1 + A08_04 * y4 + A08_05 * y5 + A08_06 * y6 + A08_07 * y7)
    z = uz + h * (A08_01 * z1 + A08_04 * z4 + A08_05 * z5 + A08_06 * z6 + A08_07 * z7)
    w = spin + h * (A08_01 * w1 + A08_04 * w4 + A08_05 * w5 + A08_06 * w6 + A08_07 * w7)
    x8, y8, z8, w8 = acceleration(x, y, z, w, body, drag, lift)
    x = ux + h * (A09_01 * x1 + A09_04 * x4 + A09_05 * x5 + A09_06 * x6 + A09_07 * x7 + A09_08 * x8)
    y = uy + h * (A09_01 * y1 + A09_04 * y4 + A09_05 * y5 + A09_06 * y6 + A09_07 * y7 + A09_08 * y8)
    z = uz + h * (A09_01 * z1 + A09_04 * z4 + A09_05 * z5 + A09_06 * z6 + A09_07 * z7 + A09_08 * z8)
    w = spin + h * (A09_01 * w1 + A09_04 * w4 + A09_05 * w5 + A09_06 * w6 + A09_07 * w7 + A09_08 * w8)
    x9, y9, z9, w9 = acceleration(x, y, z, w, body, drag, lift)
    x = ux + h * (
        A10_01 * x1 + A10_04 * x4 + A10_05 * x5 + A10_06 * x6 + A10_07 * x7 + A10_08 * x8 + A10_09 * x9
    )
    y = uy + h * (
        A10_01 * y1 + A10_04 * y4 + A10_05 * y5 + A10_06 * y6 + A10_07 * y7 + A10_08 * y8 + A10_09 * y9
    )
    z = uz + h * (
        A10_01 * z1 + A10_04 * z4 + A10_05 * z5 + A10_06 * z6 + A10_07 * z7 + A10_08 * z8 + A10_09 * z9
    )
    w = spin + h * (
        A10_01 * w1 + A10_04 * w4 + A10_05 * w5 + A10_06 * w6 + A10_07 * w7 + A10_08 * w8 + A10_09 * w9
    )
    x10, y10, z10, w10 = acceleration(x, y, z, w, body, drag, lift)
    x = ux + h * (
        A11_01 * x1
        + A11_04 * x4
        + A11_05 * x5
        + A11_06 * x6
        + A11_07 * x7
        + A11_08 * x8
        + A11_09 * x9
        + A11_10 * x10
    )
    y = uy + h * (
        A11_01 * y1
        + A11_04 * y4
        + A11_05 * y5
        + A11_06 * y6
        + A11_07 * y7
        + A11_08 * y8
        + A11_09 * y9
        + A11_10 * y10
    )
    z = uz + h * (
        A11_01 * z1
        + A11_04 * z4
        + A11_05 * z5
        + A11_06 * z6
        + A11_07 * z7
        + A11_08 * z8
        + A11_09 * z9
        + A11_10 * z10
    )
    w = spin + h * (
        A11_01 * w1
        + A11_04 * w4
        + A11_05 * w5
        + A11_06 * w6
        + A11_07 * w7
        + A11_08 * w8
        + A11_09 * w9
        + A11_10 * w10
    )
    x11, y11, z11, w11 = acceleration(x, y, z, w, body, drag, lift)
    x = ux + h * (
        A12_01 * x1
        + A12_04 * x4
        + A12_05 * x5
        + A12_06 * x6
        + A12_07 * x7
        + A12_08 * x8
        + A12_09 * x9
        + A12_10 * x10
        + A12_11 * x11
    )
    y = uy + h * (
        A12_01 * y1
        + A12_04 * y4
        + A12_05 * y5
        + A12_06 * y6
        + A12_07 * y7
        + A12_08 * y8
        + A12_09 * y9
        + A12_10 * y10
        + A12_11 * y11
    )
    z = uz + h * (
        A12_01 * z1
        + A12_04 * z4
        + A12_05 * z5
        + A12_06 * z6
        + A12_07 * z7
        + A12_08 * z8
        + A12_09 * z9
        + A12_10 * z10
        + A12_11 * z11
    )
    w = spin + h * (
        A12_01 * w1
        + A12_04 * w4
        + A12_05 * w5
        + A12_06 * w6
        + A12_07 * w7
        + A12_08 * w8
        + A12_09 * w9
        + A12_10 * w10
        + A12_11 * w11
    )
    x12, y12, z12, w12 = acceleration(x, y, z, w, body, drag, lift)
    mx = B01 * x1 + B06 * x6 + B07 * x7 + B08 * x8 + B09 * x9 + B10 * x10 + B11 * x11 + B12 * x12
    my = B01 * y1 + B06 * y6 + B07 * y7 + B08 * y8 + B09 * y9 + B10 * y10 + B11 * y11 + B12 * y12
    mz = B01 * z1 + B06 * z6 + B07 * z7 + B08 * z8 + B09 * z9 + B10 * z10 + B11 * z11 + B12 * z12
    mw = B01 * w1 + B06 * w6 + B07 * w7 + B08 * w8 + B09 * w9 + B10 * w10 + B11 * w11 + B12 * w12
    qx = Q01 * x1 + Q06 * x6 + Q07 * x7 + Q08 * x8 + Q09 * x9 + Q10 * x10 + Q11 * x11
    qy = Q01 * y1 + Q06 * y6 + Q07 * y7 + Q08 * y8 + Q09 * y9 + Q10 * y10 + Q11 * y11
    qz = Q01 * z1 + Q06 * z6 + Q07 * z7 + Q08 * z8 + Q09 * z9 + Q10 * z10 + Q11 * z11
    dx = D01 * x1 + D06 * x6 + D07 * x7 + D08 * x8 + D09 * x9 + D10 * x10 + D11 * x11 + D12 * x12
    dy = D01 * y1 + D06 * y6 + D07 * y7 + D08 * y8 + D09 * y9 + D10 * y10 + D11 * y11 + D12 * y12
    dz = D01 * z1 + D06 * z6 + D07 * z7 + D08 * z8 + D09 * z9 + D10 * z10 + D11 * z11 + D12 * z12
    dw = D01 * w1 + D06 * w6 + D07 * w7 + D08 * w8 + D09 * w9 + D10 * w10 + D11 * w11 + D12 * w12
    ex = E01 * x1 + E06 * x6 + E07 * x7 + E08 * x8 + E09 * x9 + E10 * x10 + E11 * x11 + E12 * x12
    ey = E01 * y1 + E06 * y6 + E07 * y7 + E08 * y8 + E09 * y9 + E10 * y10 + E11 * y11 + E12 * y12
    ez = E01 * z1 + E06 * z6 + E07 * z7 + E08 * z8 + E09 * z9 + E10 * z10 + E11 * z11 + E12 * z12
    ew = E01 * w1 + E06 * w6 + E07 * w7 + E08 * w8 + E09 * w9 + E10 * w10 + E11 * w11 + E12 * w12
    end = (
        px + h * (ux + body.wind_x) + h * h * qx,
        py + h * (uy + body.wind_y) + h * h * qy,
        pz + h * (uz + body.wind_z) + h * h * qz,
        ux + h * mx,
        uy + h * my,
        uz + h * mz,
        spin + h * mw,
    )
    r = body.radius * body.radius
    fifth = ex * ex + ey * ey + ez * ez + r * ew * ew
    third = dx * dx + dy * dy + dz * dz + r * dw * dw
    if fifth == 0.0:
        return end, 0.0
    return end, h * fifth / math.sqrt(fifth + 0.01 * third)
