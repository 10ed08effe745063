#!/usr/bin/env python3
"""The four speed cases of the trials crate beside statsmodels, scipy and R, in one run.

    python3 -m venv ENV && ENV/bin/pip install statsmodels scipy pandas
    ENV/bin/python tools/bench_trials.py [--hardtack PATH]

Ours come from `cargo bench -p trials` (the work alone) and from the command line with everything
around it; theirs are timed here as the best of a few rounds, without loading the packages.
statsmodels' mixed model has no Kenward-Roger, so its line compares the REML fit alone (and it
does more than is asked of neither); R with lme4 and pbkrtest, where it is installed, fits and
corrects as ours does. D-optimal exchange has no counterpart in these packages: ours only.
"""

import argparse
import os
import pathlib
import re
import shutil
import subprocess
import tempfile
import time
import warnings

import numpy as np
import pandas as pd
import statsmodels.api as sm
import statsmodels.formula.api as smf
from statsmodels.stats.multicomp import pairwise_tukeyhsd

ROOT = pathlib.Path(__file__).resolve().parent.parent
warnings.filterwarnings("ignore")


def best(work, rounds):
    """Least time of some rounds, in ms."""
    work()
    times = []
    for _ in range(rounds):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return 1e3 * min(times)


def ours():
    """Lines of our own bench: name to ms."""
    out = subprocess.run(
        ["cargo", "bench", "-q", "-p", "trials"], cwd=ROOT, capture_output=True, text=True, check=True
    ).stdout
    print(out)
    lines = re.findall(r"^(.+?)\s+([\d.]+) ms", out, re.M)
    return {name.strip(): float(ms) for name, ms in lines}


def find(table, *words):
    for name, ms in table.items():
        if all(w in name for w in words):
            return ms
    return None


def r_split_plot(path):
    """lmer and its Kenward-Roger table in R, ms; None without R or its packages."""
    if not shutil.which("Rscript"):
        return None
    code = f"""
    suppressPackageStartupMessages({{library(lme4); library(lmerTest); library(pbkrtest)}})
    d <- read.csv("{path}"); d$N <- factor(d$N); d$B <- factor(d$B); d$V <- factor(d$V)
    f <- function() anova(lmer(Y ~ V*N + (1|B/V), d), ddf = "Kenward-Roger")
    g <- function() lmer(Y ~ V*N + (1|B/V), d)
    invisible(f()); invisible(g())
    t1 <- min(replicate(5, system.time(f())[["elapsed"]]))
    t2 <- min(replicate(5, system.time(g())[["elapsed"]]))
    cat(1000*t1, 1000*t2, "\n")
    """
    run = subprocess.run(["Rscript", "-e", code], capture_output=True, text=True)
    if run.returncode != 0:
        return None
    return [float(x) for x in run.stdout.split()[-2:]]


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("--hardtack", help="program to time whole; the release build if not named")
    args = parser.parse_args()
    own = ours()
    rng = np.random.default_rng(7)
    rows = []

    codes = np.arange(18_009) // 2001
    frame = pd.DataFrame({"g": codes.astype(str), "y": 1e6 + 0.1 * (codes % 3) + rng.normal(size=18_009)})

    def one_way():
        sm.stats.anova_lm(smf.ols("y ~ C(g)", frame).fit())
        pairwise_tukeyhsd(frame["y"], frame["g"])

    rows.append(("one-way and Tukey, 18,009 rows", find(own, "18,009"), best(one_way, 3), "statsmodels"))

    oats = ROOT / "crates/trials/tests/data/r/oats.csv"
    data = pd.read_csv(oats)
    names = {c.lower(): c for c in data.columns}
    frame2 = data.rename(columns={names.get("n", "N"): "N", names.get("b", "B"): "B", names.get("v", "V"): "V", names.get("y", "Y"): "Y"})

    def split_plot():
        smf.mixedlm("Y ~ C(V) * C(N)", frame2, groups="B", re_formula="1", vc_formula={"V": "0 + C(V)"}).fit(reml=True)

    split = find(own, "72 rows")
    rows.append(("split plot, 72 rows (theirs without Kenward-Roger)", split, best(split_plot, 3), "statsmodels"))
    with tempfile.TemporaryDirectory() as folder:
        path = os.path.join(folder, "oats.csv")
        frame2.to_csv(path, index=False)
        r = r_split_plot(path)
    if r:
        rows.append(("split plot, 72 rows, REML and Kenward-Roger", split, r[0], "R lme4 + pbkrtest"))
        rows.append(("split plot, 72 rows (theirs the fit alone)", split, r[1], "R lme4"))
    else:
        print("R with lme4 and pbkrtest isn't here: no line with Kenward-Roger on both sides")

    n = 2000
    frame3 = pd.DataFrame({"t": np.arange(n) % 4, "batch": np.arange(n) // 10})
    frame3["y"] = 50 + frame3["t"] + 3 * rng.normal(size=200)[frame3["batch"]] + 7 * rng.normal(size=n)

    def mixed():
        smf.mixedlm("y ~ C(t)", frame3, groups="batch").fit(reml=True)

    rows.append(("mixed model, 2,000 rows (theirs without Kenward-Roger)", find(own, "2,000"), best(mixed, 3), "statsmodels"))
    program = args.hardtack or str(ROOT / "target/release/hardtack")
    if os.path.exists(program):
        n = 100_000
        batch = np.arange(n) // 50
        frame4 = pd.DataFrame({"day": 1 + batch // 4 % 50, "treatment": np.array(["control", "b", "c", "d"])[batch % 4], "batch": batch, "piece": np.arange(n) % 50})
        frame4["force"] = (50 + 3 * rng.normal(size=2000)[batch] + 7 * rng.normal(size=n)).round(2)
        with tempfile.TemporaryDirectory() as folder:
            path = os.path.join(folder, "big.csv")
            frame4.to_csv(path, index=False)

            def whole():
                subprocess.run([program, "trial", "analyse", path, "--response", "force", "--control", "control", "--json"], capture_output=True, check=True)

            def theirs():
                d = pd.read_csv(path)
                means = d.groupby(["day", "treatment", "batch"], as_index=False)["force"].mean()
                sm.stats.anova_lm(smf.ols("force ~ C(day) + C(treatment)", means).fit())

            parts = ["wheat=0.4..0.75", "barley=0.05..0.3", "grain=0.1..0.4", "pea=0.0..0.2"]
            flags = [word for part in parts for word in ("--part", part)]

            def optimal():
                subprocess.run([program, "trial", "plan", "constrained-mixture", *flags, "--runs", "20", "--starts", "50", "--json"], capture_output=True, check=True)

            rows.append(("D-optimal, 4 parts, 20 runs, 50 starts, whole program", best(optimal, 3), None, "no counterpart"))
            rows.append(("100,000 observations from CSV, whole program", best(whole, 3), best(theirs, 3), "pandas + statsmodels, packages loaded"))
    else:
        print(f"{program} isn't there: build it, or name it with --hardtack")

    print(f"{'case':<56} {'ours, ms':>9} {'theirs, ms':>11} {'ratio':>7}  beside")
    for name, a, b, beside in rows:
        a_text = "–" if a is None else f"{a:.2f}"
        b_text = "–" if b is None else f"{b:.1f}"
        ratio = "–" if a is None or b is None else f"{b / a:.0f} ×"
        print(f"{name:<56} {a_text:>9} {b_text:>11} {ratio:>7}  {beside}")


if __name__ == "__main__":
    main()
