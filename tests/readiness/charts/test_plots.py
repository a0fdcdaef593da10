"""Plots: valid SVG, no inline style, text alternatives, what they must show."""

from __future__ import annotations

import re
from xml.etree import ElementTree as ET

import numpy as np
import pytest

from readiness.charts.plots import EventMark, Plot, series_plot, spectrum_plot, trace_plot
from readiness.charts.stretch import within
from readiness.signal.catalogue import FLEX, STILL
from readiness.signal.limits import Limits
from readiness.signal.spectrum.noise import spectrum

NS = "{http://www.w3.org/2000/svg}"


def root(svg: str) -> ET.Element:
    """The drawing, parsed as XML; HTML gives inline SVG its name space by itself."""
    tree = ET.fromstring(svg.replace("<svg ", '<svg xmlns="http://www.w3.org/2000/svg" ', 1))
    assert not re.search(r"\sstyle=|<style|<script|javascript:", svg)
    assert tree.get("role") == "img"
    titles = {tree.find(NS + "title").get("id"), tree.find(NS + "desc").get("id")}
    assert set(tree.get("aria-labelledby").split()) == titles
    assert tree.find(NS + "desc").text
    return tree


def both(plot: Plot) -> list[ET.Element]:
    """Both drawings, each with ids of its own: the page holds them side by side."""
    wide, narrow = root(plot.svg), root(plot.narrow)
    assert wide.get("class") == "plot plot-wide"
    assert narrow.get("class") == "plot plot-narrow"
    assert not {e.get("id") for e in wide.iter() if e.get("id")} & {
        e.get("id") for e in narrow.iter() if e.get("id")
    }
    assert wide.find(NS + "desc").text == narrow.find(NS + "desc").text
    return [wide, narrow]


def of_class(tree: ET.Element, name: str) -> list[ET.Element]:
    return [item for item in tree.iter() if item.get("class") == name]


def test_trace_names_its_windows_and_numbers_its_events():
    x = np.random.default_rng(1).normal(size=10240)
    marks = [EventMark(3.1, 40.0, "A"), EventMark(6.0, 55.0, "B")]
    plot = trace_plot(x, 1024.0, FLEX.spans, marks, name="t1")
    tree = root(plot.svg)
    assert [item.text for item in of_class(tree, "plot-event-number")] == ["1", "2"]
    words = [item.text for item in of_class(tree, "plot-name")]
    assert {"still", "lead A", "lead B", "ground"} <= set(words)
    assert plot.caption.endswith("2 abrupt events on lead A and B.")


def test_an_event_of_several_spikes_is_shaded_to_its_end():
    x = np.random.default_rng(1).normal(size=10240)
    marks = [EventMark(3.0, 40.0, "A", end_s=4.5), EventMark(9.0, 40.0, end_s=11.0)]
    tree = root(trace_plot(x, 1024.0, FLEX.spans, marks, name="t1").svg)
    first, second = of_class(tree, "plot-event-span")
    second_px = (float(second.get("x")) - float(first.get("x"))) / 6
    assert float(first.get("width")) == pytest.approx(1.5 * second_px, abs=0.2)
    assert float(second.get("width")) == pytest.approx(second_px, abs=0.2), "not past the edge"


def test_a_phone_gets_a_drawing_of_its_own_with_fewer_marks():
    x = np.random.default_rng(1).normal(size=10240)
    wide, narrow = both(trace_plot(x, 1024.0, FLEX.spans, [EventMark(3.1, 40.0, "A")], name="t1"))
    assert (wide.get("viewBox"), narrow.get("viewBox")) == ("0 0 760 280", "0 0 400 280")
    seconds = [
        [e.text for e in of_class(t, "plot-tick") if e.get("text-anchor") == "middle"]
        for t in (wide, narrow)
    ]
    assert seconds == [[str(s) for s in range(11)], ["0", "2", "4", "6", "8", "10"]]
    for tree in (wide, narrow):
        right = float(tree.get("viewBox").split()[2])
        assert all(float(e.get("x")) <= right for e in tree.iter(NS + "text"))
        assert "µV" in [e.text for e in of_class(tree, "plot-name")]
    both(series_plot([0, 30], [1.0, 1.1], unit="µV", title="Noise", caption="Rises."))


def test_a_stretch_fills_the_width_with_its_own_windows_and_events():
    x = np.random.default_rng(1).normal(size=10240)
    x[6144] = 80.0
    marks = [EventMark(3.1, 40.0, "A"), EventMark(6.0, 55.0, "B")]
    part = within(5.0, 7.5, 10.0)
    for tree in both(trace_plot(x, 1024.0, FLEX.spans, marks, stretch=part, name="t1")):
        right = float(tree.get("viewBox").split()[2])
        assert [e.text for e in of_class(tree, "plot-event-number")] == ["2"]
        names = {e.text for e in of_class(tree, "plot-name")}
        assert "lead B" in names and not {"still", "lead A", "ground"} & names
        path = of_class(tree, "plot-envelope")[0].get("d")
        places = [float(pair.split()[0]) for pair in re.findall(r"[\d.]+ [\d.]+", path)]
        assert (min(places), max(places)) == (62.0, right - 12)
        mark = float(of_class(tree, "plot-event-mark")[0].get("cx"))
        assert mark == pytest.approx(62 + 0.4 * (right - 74), abs=0.1)
        seconds = [e.text for e in of_class(tree, "plot-tick") if e.get("y") == "260.0"]
        assert seconds[0] == "5" and "7" in seconds
    caption = trace_plot(x, 1024.0, FLEX.spans, marks, stretch=part).caption
    assert caption.startswith("5 to 7.5 s of 10.0 s between ")
    assert caption.endswith("80 µV; 1 of 2 abrupt events on lead B.")
    empty = trace_plot(x, 1024.0, FLEX.spans, marks, stretch=within(0, 2, 10.0))
    assert empty.caption.endswith("none of 2 abrupt events.")


@pytest.mark.parametrize("bounds", [(0, 0.1), (9.95, 10), (4.999, 5.099)])
def test_the_shortest_stretch_still_draws(bounds):
    x = np.random.default_rng(1).normal(size=10240)
    drawn = trace_plot(x, 1024.0, FLEX.spans, stretch=within(*bounds, 10.0)).svg
    assert of_class(root(drawn), "plot-envelope")[0].get("d")


def test_the_envelope_keeps_the_highest_sample():
    x = np.zeros(40_960)
    x[12_345] = 1000.0
    tree = root(trace_plot(x, 4096.0, STILL.spans).svg)
    path = of_class(tree, "plot-envelope")[0].get("d")
    heights = [float(pair.split()[1]) for pair in re.findall(r"[\d.]+ [\d.]+", path)]
    assert min(heights) < 50 < max(heights)


def test_missing_samples_leave_a_gap():
    x = np.random.default_rng(1).normal(size=10240)
    x[4000:4500] = np.nan
    path = of_class(root(trace_plot(x, 1024.0, STILL.spans).svg), "plot-envelope")[0].get("d")
    assert path.count("M") == 2
    assert "nan" not in path


@pytest.mark.parametrize(
    "x", [np.zeros(10240), np.full(10240, 3.5), np.full(10240, np.nan), np.zeros(1)]
)
def test_odd_traces_still_draw(x):
    assert "nan" not in trace_plot(x, 1024.0, STILL.spans).svg.replace("plot-name", "")


def test_spectrum_marks_limit_bands_and_mains():
    t = np.arange(10240) / 1024
    x = np.random.default_rng(1).normal(size=10240) + 20 * np.sin(2 * np.pi * 50 * t)
    found = spectrum(x, 1024.0, (50.0,))
    plot = spectrum_plot(
        found.hz,
        found.raw,
        found.density,
        Limits(),
        mains_hz=50.0,
        band_hz=(20, 409.6),
        noise_uv=0.9,
    )
    tree = root(plot.svg)
    assert len(of_class(tree, "plot-limit")) == 1
    assert len(of_class(tree, "plot-band")) == 1
    assert len(of_class(tree, "plot-mains")) == 10
    assert "below the limit" in plot.caption


def test_series_marks_what_is_out_of_control():
    plot = series_plot(
        [0, 30, 70],
        [1.0, 1.1, 2.4],
        unit="uV",
        title="Noise <floor>",
        caption="Rises & rises.",
        lines=(("upper limit", 2.0),),
        out=[2],
        labels=("1 Jan", "12 Mar"),
    )
    tree = root(plot.svg)
    assert len(of_class(tree, "plot-point-out")) == 1
    assert tree.find(NS + "title").text == "Noise <floor>"
    assert series_plot([0], [1.0], unit="V", title="One", caption="One point.").svg
