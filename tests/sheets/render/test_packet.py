"""The packet as files: whole without a network or a script, and drawn for the right side."""

import re
from dataclasses import replace

import pypdf
import pytest

from formcheck.exercises.library import library_names, load_exercise
from formcheck.exercises.programme import load_programme
from formcheck.sheets.pages.packet import packet_page
from formcheck.sheets.render.figure import draw_exercise
from formcheck.sheets.render.html import environment
from formcheck.sheets.render.packet import answers_html, packet_html, packet_pdf
from formcheck.sheets.render.plan import draw_plan
from formcheck.words.stop import StopCard
from formcheck.words.words import as_invented, words_for
from tests.sheets.packets import programme_in


@pytest.fixture
def page(tmp_path, words):
    return packet_page(programme_in(tmp_path), words)


@pytest.fixture
def html(page, words):
    return packet_html(page, words)


def test_nothing_is_fetched_from_anywhere(html, page, words):
    for one in (html, answers_html(page, words)):
        linked = set(re.findall(r'(?:src|href)="([^"]*)"', one))
        assert all(link.startswith("#") for link in linked)
        assert set(re.findall(r"https?://[^\s\"'<]+", one)) <= {"http://www.w3.org/2000/svg"}
        assert "default-src &#39;none&#39;" in one
        assert len(one) < 200_000


def test_without_a_script_everything_can_be_read(html):
    still = re.sub(r"<script>.*?</script>", "", html, flags=re.DOTALL)
    for said in ("Ease on", "8 s", "heron_belly-press_right_", "never above 90°", "3 m away"):
        assert said in still
    assert "<noscript>" in still


def test_an_invented_page_says_so_at_both_ends(tmp_path, words):
    page, marked = packet_page(programme_in(tmp_path), words), as_invented(words)
    assert packet_html(page, marked).count("Invented example") == 2
    assert "Invented example" not in packet_html(page, words)


def printed(page, words, folder):
    file = folder / "packet.pdf"
    file.write_bytes(packet_pdf(page, words, "a4"))
    return [" ".join(one.extract_text().split()) for one in pypdf.PdfReader(file).pages]


@pytest.mark.slow
@pytest.mark.parametrize("language", ["en", "de"])
def test_it_goes_on_one_sheet_of_paper_with_the_answers_on_its_back(tmp_path, language):
    words = words_for(language)
    page = packet_page(programme_in(tmp_path), words)
    front, back = printed(page, words, tmp_path)
    assert "heron_belly-press_right" in front
    assert words("packet.first_how") in front
    for asked in (*(text for _, text in page.questions), *(name for _, name, _ in page.scales)):
        assert asked in back
    assert words("packet.back_how", most=page.most_pain) in back


@pytest.mark.slow
def test_where_the_client_is_to_stop_paper_and_phone_ask_for_nothing_more(page, words, tmp_path):
    card = StopCard("Stop", "Your answers say so.", ("Pain",), "This stays.")
    stopped = replace(page, stop_first=card)
    (text,) = printed(stopped, words, tmp_path)
    html = packet_html(stopped, words)
    assert words("stop.dose") in text
    assert words("stop.dose") in html.split("<form")[0]
    assert words("packet.first") not in text + html
    for item in page.items:
        assert item.dose not in text + html
        assert item.clip_stem not in text + html


def numbers(svg, kind):
    path = re.search(rf'class="{kind}" d="([^"]*)"', svg)[1]
    return [float(value) for value in re.findall(r"-?[\d.]+", path)]


@pytest.mark.slow
@pytest.mark.parametrize("name", library_names())
def test_every_exercise_can_be_drawn_and_a_left_arm_is_the_mirror_image(name):
    exercise = load_exercise(name)
    for part in exercise.parts or (None,):
        right, left = (
            draw_exercise(environment(), exercise, part, side, ("start <1>", "end"))
            for side in ("right", "left")
        )
        assert "start &lt;1&gt;" in right.start
        across_right = numbers(right.start, "arm works")[::2]
        across_left = numbers(left.start, "arm works")[::2]
        assert across_left == [pytest.approx(-value) for value in across_right]
        assert (right.end is None) == (left.end is None)


def test_the_plan_has_the_camera_where_the_exercise_asks_for_it():
    def facing(name, side="right"):
        plan = draw_plan(environment(), load_exercise(name), side, "plan", "3 m")
        head, nose = (
            [
                float(value)
                for value in re.search(rf'{kind}" cx="([^"]*)" cy="([^"]*)"', plan).groups()
            ]
            for kind in ("head", "nose")
        )
        return nose[0] - head[0], nose[1] - head[1]

    assert facing("belly-press")[1] > 5  # down the page, to the camera
    assert facing("lift-off")[1] < -5
    assert facing("elbow-curl")[0] > 5
    assert facing("elbow-curl", "left")[0] < -5


@pytest.mark.parametrize("name", library_names())
def test_the_whole_body_is_inside_what_the_camera_of_the_plan_sees(name):
    plan = draw_plan(environment(), load_exercise(name), "right", "plan", "3 m")

    def drawn(kind):
        path = re.search(rf'class="{kind}" d="([^"]*)"', plan).group(1)
        return [float(value) for value in re.findall(r"-?[0-9.]+", path)]

    middle, camera, left, far, right = drawn("field")
    for arm in ("arm works", "torso"):
        points = drawn(arm)
        for x, y in zip(points[::2], points[1::2], strict=True):
            share = (camera - y) / (camera - far)
            assert middle + (left - middle) * share < x < middle + (right - middle) * share


def test_an_exercise_of_one_arm_is_drawn_with_two_where_both_are_to_work_together(tmp_path, words):
    def arms_at_work(side):
        (tmp_path / "heron.toml").write_text(
            'client = "heron"\nphase = "one"\n[[items]]\nexercise = "side-raise"\n'
            f'side = "{side}"\n'
        )
        html = packet_html(packet_page(load_programme(tmp_path / "heron.toml"), words), words)
        return html.count('class="arm works"')

    assert arms_at_work("both") == 2 * arms_at_work("right") == 2 * arms_at_work("alternating")
