"""Writes assay-check.json: expected values for the efficacy core, computed without any of its code.

Run in this folder: python3 assay-check.py > assay-check.json  (SciPy, see "generator" in the output).
Cups: assay-cups.json (real cups of two yards; licence and attribution in that file).
"""
import json
import math

import numpy as np
import scipy
from scipy import optimize, stats

LINE, LEVEL = 0.7, 0.95
cups = json.load(open("assay-cups.json"))["cups"]


def wilson(p, n, t):
    """Roots of (p - x)^2 = t^2 x (1 - x) / n, by the quadratic formula."""
    roots = np.roots([1 + t * t / n, -(2 * p + t * t / n), p * p])
    return sorted(float(r.real) for r in roots)


def pooled(clusters):
    k = len(clusters)
    fell = sum(c[0] for c in clusters)
    mites = sum(c[1] for c in clusters)
    p = fell / mites
    v = k / (k - 1) * sum((x - p * n) ** 2 for x, n in clusters) / mites**2
    deff = v / (p * (1 - p) / mites)
    effective = mites / max(1, deff)
    return k, p, mites, deff, effective, wilson(p, effective, stats.t.ppf(1 - (1 - LEVEL) / 2, k - 1))


def more_cups(cups, clusters, min_cups=5, min_mites=20):
    k, p, mites, deff, effective, interval = pooled(clusters)
    enough = len(cups) >= min_cups and mites >= min_mites
    if enough and (interval[0] >= LINE or interval[1] < LINE):
        return 0
    per_cup = mites / len(cups)

    def chance(m):
        n = (mites + m * per_cup) / max(1, deff)
        t = stats.t.ppf(1 - (1 - LEVEL) / 2, k + m - 1)
        # Which estimates give limits that exclude the line: found by solving for the limits themselves.
        upper_hits = optimize.brentq(lambda x: wilson(x, n, t)[1] - LINE, 0, LINE) if wilson(0, n, t)[1] < LINE else -1e9
        lower_hits = optimize.brentq(lambda x: wilson(x, n, t)[0] - LINE, LINE, 1) if wilson(1, n, t)[0] > LINE else 1e9
        future = stats.norm(p, math.sqrt(p * (1 - p) / n))
        return future.cdf(upper_hits) + future.sf(lower_hits)

    chances = {m: chance(m) for m in range(1, 401)}
    for m in range(1, 101):
        if len(cups) + m < min_cups or mites + m * per_cup < min_mites:
            continue
        if all(chances[i] >= 0.8 for i in range(m, 401)):
            return m
    return None


def infestation(clusters):
    k = len(clusters)
    mites = sum(c[0] for c in clusters)
    bees = sum(c[1] for c in clusters)
    r = mites / bees
    se = math.sqrt(k / (k - 1) * sum((m - r * b) ** 2 for m, b in clusters)) / bees
    t = stats.t.ppf(1 - (1 - LEVEL) / 2, k - 1)
    return {"per100": 100 * r, "interval": [100 * max(0, r - t * se), 100 * (r + t * se)]}


def beta_binomial(shares):
    """Direct maximum likelihood with SciPy's own beta-binomial and, at rho 0, binomial."""
    x = np.array([s[0] for s in shares])
    n = np.array([s[1] for s in shares])

    def loss(at):
        mu, rho = 1 / (1 + math.exp(-at[0])), 1 / (1 + math.exp(-at[1]))
        size = (1 - rho) / rho
        return -stats.betabinom.logpmf(x, n, mu * size, (1 - mu) * size).sum()

    # A local search alone stops at the lower of two hills: the whole range of rho is looked at first.
    grid = [(mu, rho) for rho in np.linspace(-16, 6, 89) for mu in np.linspace(-4, 4, 41)]
    start = min(grid, key=loss)
    best = optimize.minimize(loss, start, method="Nelder-Mead", options={"xatol": 1e-10, "fatol": 1e-13, "maxiter": 20000})
    at_binomial = -stats.binom.logpmf(x, n, x.sum() / n.sum()).sum()
    if at_binomial <= best.fun + 1e-6:  # betaln is no more exact than this near rho 0
        return {"mu": float(x.sum() / n.sum()), "rho": 0.0}
    return {"mu": 1 / (1 + math.exp(-best.x[0])), "rho": 1 / (1 + math.exp(-best.x[1]))}


def recovery(efficacy, interval, first, second):
    """T / (T + W/q), each limit at the combined distance on the logit scale."""
    q = first / (first + second)
    q_limits = wilson(q, first + second, stats.norm.ppf(0.975))
    corrected = lambda p: p / (p + (1 - p) / q)
    from scipy.special import expit, logit

    limits = [
        float(expit(logit(corrected(efficacy)) + sign * math.sqrt((logit(limit) - logit(efficacy)) ** 2 + math.log(ql / q) ** 2)))
        for sign, limit, ql in zip((-1, 1), interval, q_limits)
    ]
    return {"q": q, "efficacyCorrected": corrected(efficacy), "interval": limits}


def widened(mites, bees, cv):
    """Equation 9 of the source named in shared/README.md, theta1 mites and theta0 bees."""
    l1, u1 = (stats.gamma.ppf(0.025, mites) if mites else 0), stats.gamma.ppf(0.975, mites + 1)
    reach = stats.norm.ppf(0.975) * cv
    l0, u0 = bees * (1 - reach), bees * (1 + reach)
    product = mites * bees
    lower = (product - math.sqrt(product**2 - l1 * u0 * (2 * mites - l1) * (2 * bees - u0))) / (u0 * (2 * bees - u0))
    upper = (product + math.sqrt(product**2 - u1 * l0 * (2 * mites - u1) * (2 * bees - l0))) / (l0 * (2 * bees - l0))
    return [100 * lower, 100 * upper]


def by(cups, key):
    groups = {}
    for cup in cups:
        old = groups.get(cup[key], (0, 0))
        groups[cup[key]] = (old[0] + cup["tray"], old[1] + cup["tray"] + cup["wash"])
    return list(groups.values())


def yard(name):
    own = [cup for cup in cups if cup["yard"] == name]
    shares = [(cup["tray"], cup["tray"] + cup["wash"]) for cup in own]
    bees = [cup["workers"] + cup["drones"] + cup["queens"] for cup in own]
    k, p, mites, deff, effective, interval = pooled(shares)
    line_k, _, _, line_deff, _, line_interval = pooled(by(own, "parent"))
    return {
        "name": name,
        "efficacy": p,
        "designEffect": deff,
        "effectiveMites": effective,
        "interval": interval,
        "naiveInterval": wilson(p, mites, stats.norm.ppf(1 - (1 - LEVEL) / 2)),
        "moreCups": more_cups(own, shares),
        "byGroup": {"k": line_k, "designEffect": line_deff, "interval": line_interval},
        "recovery": recovery(p, interval, 637, 47),
        "infestation": infestation([(n, b) for (_, n), b in zip(shares, bees)]),
    }


MADE_UP = {
    "undecided, near": [(8, 10), (9, 10), (7, 10), (10, 10), (9, 10), (8, 10)],
    "undecided, far": [(3, 4), (2, 6), (5, 6), (6, 8), (1, 2), (4, 8), (3, 4)],
    "too few mites": [(2, 2), (1, 2), (2, 2), (1, 1), (3, 3), (2, 2)],
    "too few cups": [(30, 40), (35, 40)],
    "undecided, below": [(4, 10), (6, 10), (5, 10), (7, 10), (3, 10), (8, 10), (5, 10)],
    "at the line": [(7, 10), (6, 10), (8, 10), (7, 10), (7, 10), (7, 10)],
}
WIDE = {
    "all or none, some mixed": [(9, 9), (0, 8), (7, 7), (0, 5), (6, 6), (1, 8), (9, 10)],
    "two hills, the binomial higher": [(0, 2), (22, 28), (3, 3)],
    "slight": [(7, 10), (8, 12), (5, 9), (10, 11), (6, 6), (3, 7)],
}



def check_reference():
    """Recomputes assay-reference.json, which came from R 4.2.2; stops at the first difference."""
    reference = json.load(open("assay-reference.json"))
    z = stats.norm.ppf(0.975)
    close = lambda a, b, tolerance=1e-9: np.testing.assert_allclose(a, b, rtol=0, atol=tolerance)
    for row in reference["intervals"]:
        x, n = row["x"], row["n"]
        close(wilson(x / n, n, z), row["wilson"], 1e-7 if x in (0, n) else 1e-9)
        exact = stats.binomtest(x, n).proportion_ci(0.95, "exact")
        close([exact.low, exact.high], row["clopperPearson"])
        corrected = stats.binomtest(x, n).proportion_ci(0.95, "wilsoncc")
        close([corrected.low, corrected.high], row["wilsonCC"], 2e-4 if x == 1 else 1e-9)
        posterior = stats.beta(x + 0.5, n - x + 0.5)
        close(
            [posterior.ppf(0.025) if x > 0 else 0, posterior.ppf(0.975) if x < n else 1], row["jeffreys"]
        )
    for row in reference["clustered"]:
        shares = list(zip(row["x"], row["n"]))
        k, p, _, deff, effective, interval = pooled(shares)
        close([k, p, deff, effective], [row["k"], row["pooled"], row["deff"], row["nEff"]])
        close(interval, row["wilsonDeffT"])
        if not row["bbAtBoundary"]:
            fit = beta_binomial(shares)
            close([fit["mu"], fit["rho"]], [row["bbMu"], row["bbRho"]], 1e-6)


check_reference()
QUANTILES = {
    "normal": [(tail, None, None, stats.norm.isf(tail)) for tail in (0.1, 0.025, 0.005)],
    "t": [(tail, k, None, stats.t.isf(tail, k - 1)) for tail in (0.1, 0.025, 0.005) for k in (2, 3, 5, 10, 100)],
    "beta": [
        (p, a, b, stats.beta.ppf(p, a, b))
        for p in (0.025, 0.975)
        for a, b in ((0.5, 8.5), (1, 20000), (3.5, 1.5), (137, 9863), (10000.5, 10000.5))
    ],
    "gamma": [(p, a, None, stats.gamma.ppf(p, a)) for p in (0.025, 0.975) for a in (1, 13, 500, 501, 1000, 10001)],
}

print(
    json.dumps(
        {
            "generator": f"assay-check.py with SciPy {scipy.__version__}, NumPy {np.__version__}",
            "quantiles": {
                name: [{"p": p, "a": a, "b": b, "value": value} for p, a, b, value in rows]
                for name, rows in QUANTILES.items()
            },
            "yards": [yard("A"), yard("B")],
            "moreCups": [
                {"name": name, "cups": shares, "moreCups": more_cups(shares, shares)} for name, shares in MADE_UP.items()
            ],
            "betaBinomial": [{"name": name, "cups": shares, **beta_binomial(shares)} for name, shares in WIDE.items()],
            "poisson": [
                {
                    "mites": mites,
                    "bees": bees,
                    "interval": [
                        100 * (stats.gamma.ppf(0.025, mites) if mites else 0) / bees,
                        100 * stats.gamma.ppf(0.975, mites + 1) / bees,
                    ],
                }
                for mites, bees in [(13, 303), (6, 300), (9, 300), (0, 300)]
            ],
            "widened": [
                {"mites": mites, "bees": bees, "cv": cv, "interval": widened(mites, bees, cv)}
                for mites, bees, cv in [(13, 303, 0.1), (13, 303, 0.15), (0, 300, 0.1)]
            ],
        },
        indent=1,
    )
)
