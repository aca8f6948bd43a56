"""What SciPy and statsmodels print for the questions that `rules::statistics` answers, one row each.

Reads {"seed": …, "rounds": …}, prints {"table": …}: name, arguments, "=", values; lists with commas, numbers so that
every bit survives. crates/rules/tests/reference/table.txt keeps the 30 rounds of seed 1; the bench asks with other seeds.
"""

import json
import random
import sys

import numpy
import scipy
import statsmodels
from scipy import stats
from statsmodels.sandbox.stats.runs import runstest_1samp
from statsmodels.stats.multitest import multipletests

ROWS = []
LEAST = 1e-290  # Below it SciPy itself runs out of digits.


def row(name, arguments, values):
    text = lambda value: ",".join(map(repr, value)) if isinstance(value, list) else repr(value)
    ROWS.append(" ".join([name, *map(text, arguments), "=", *map(text, map(float, values))]))


def chi_square(draw):
    df = draw.choice([1, 2, 3, 4, 5, 9, 11, 19, 59, 120, 400])
    x = df * draw.choice([0.01, 0.2, 0.6, 0.9, 1.0, 1.1, 1.5, 2.5, 6.0]) * draw.uniform(0.8, 1.25)
    tail = stats.chi2.sf(x, df)
    if tail > LEAST:
        row("chi_square_tail", [x, df], [tail])


def binomial(draw):
    n = draw.choice([1, 5, 24, 48, 50, 96, 300, 2000])
    k, p = draw.randint(0, n), draw.choice([0.01, 0.1, 0.2, 0.5, 0.9])
    tail = stats.binom.sf(k - 1, n, p)
    if tail > LEAST:
        row("binomial_tail", [k, n, p], [tail])


def normal(draw):
    z = draw.uniform(-12.0, 12.0)
    row("normal_two_sided", [z], [2.0 * stats.norm.sf(abs(z))])


def minutes(draw):
    """Written minutes: honest, or with a liking for some digits."""
    liked = draw.choice([[], [0, 5], [3, 7], [0, 15, 30, 45]])
    count = draw.choice([50, 60, 96, 200])
    return [draw.choice(liked) if liked and draw.random() < 0.4 else draw.randrange(60) for _ in range(count)]


def digits(draw):
    times = minutes(draw)
    counts = [sum(time % 10 == digit for time in times) for digit in range(10)]
    found = stats.chisquare(counts)
    row("last_digits", [times], [found.statistic, found.pvalue])
    fives = sum(time % 5 == 0 for time in times)
    row("zero_or_five", [times], [stats.binomtest(fives, len(times), 0.2, alternative="greater").pvalue])


def lengths(draw):
    times = [round(draw.uniform(20.0, 40.0), 2) for _ in range(draw.choice([2, 12, 24, 96]))]
    row("coefficient_of_variation", [times], [stats.variation(times, ddof=1)])
    spread = draw.uniform(0.2, 20.0)
    z = 0.5 / (spread * 2.0 ** 0.5)
    row("same_minute_chance", [spread], [stats.norm.cdf(z) - stats.norm.cdf(-z)])


def runs(draw):
    times = [round(draw.uniform(20.0, 40.0), 2) for _ in range(draw.choice([12, 24, 48]))]
    if numpy.median(times) in times:
        return  # statsmodels counts such a value as above; ours leaves it out
    z, p = runstest_1samp(times, cutoff="median", correction=False)
    row("runs_about_median", [times], [z, p])


def holm(draw):
    p = [draw.random() ** draw.choice([1, 4, 8]) for _ in range(draw.randint(1, 12))]
    passed = multipletests(p, alpha=0.05, method="holm")[0]
    row("holm", [p], [sum(1 << at for at, passes in enumerate(passed) if passes)])


def main(seed, rounds):
    versions = "SciPy %s, statsmodels %s, NumPy %s" % (scipy.__version__, statsmodels.__version__, numpy.__version__)
    ROWS.append("# " + versions)
    for call in [
        "chi_square_tail x df = stats.chi2.sf(x, df)",
        "binomial_tail k n p = stats.binom.sf(k - 1, n, p)",
        "normal_two_sided z = 2.0 * stats.norm.sf(abs(z))",
        "last_digits minutes = stats.chisquare(counts of minute % 10).statistic, .pvalue",
        'zero_or_five minutes = stats.binomtest(count of minute % 5 == 0, n, 0.2, alternative="greater").pvalue',
        "coefficient_of_variation lengths = stats.variation(lengths, ddof=1)",
        "same_minute_chance sd = stats.norm.cdf(z) - stats.norm.cdf(-z), z = 0.5 / (sd * 2.0 ** 0.5)",
        'runs_about_median values = runstest_1samp(values, cutoff="median", correction=False)',
        'holm p = multipletests(p, alpha=0.05, method="holm")[0], the passed ones as bits, the first lowest',
    ]:
        ROWS.append("# " + call)
    draw = random.Random(seed)
    for _ in range(rounds):
        for ask in [chi_square, binomial, normal, digits, lengths, runs, holm]:
            ask(draw)


asked = json.load(sys.stdin)
main(asked["seed"], asked["rounds"])
print(json.dumps({"table": "\n".join(ROWS) + "\n"}))
