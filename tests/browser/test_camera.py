"""The camera reads our own printed labels, as a phone sees them; and where there is none, it says why."""

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, expect

from tests import chromium as browser_program
from tests import films
from tests.browsing import Watch
from tests.cast import Farm
from tests.orchard import HEIGHT, WIDTH, Gear, Orchard, enrol, verbs

MODULE = "/static/equipment/js/orchard/camera.js"
OPEN = """async ([module, given]) => {
  const { openCamera } = await import(module);
  window.read = [];
  window.video ??= document.body.appendChild(document.createElement('video'));
  try {
    window.camera = await openCamera({
      video: window.video, words: { label: 'What the camera sees' }, onCode: (text) => window.read.push(text), ...given,
    });
    return { torch: window.camera.torch !== null, label: window.video.getAttribute('aria-label') };
  } catch (error) {
    return { why: error.why };
  }
}"""


def opened(page: Page, **given: Any) -> dict[str, Any]:
    return page.evaluate(OPEN, [MODULE, given])


@pytest.fixture
def filming(
    chromium: Browser, live_server: Any, watch: Watch, farm: Farm, sign_in: Any, tmp_path: Path
) -> Iterator[Callable[..., Page]]:
    """`filming(code)`: Sam's phone, whose camera sees the printed label of that code; `allowed=False`: Sam says no."""
    browsers: list[Browser] = []

    def film(code: str, *, allowed: bool = True) -> Page:
        path = films.film(tmp_path / "label.mjpeg", code)
        camera = [f"--use-file-for-fake-video-capture={path}", "--use-fake-device-for-media-stream"]
        browser = chromium.browser_type.launch(
            executable_path=browser_program.find(), args=[*browser_program.FLAGS, *camera]
        )
        browsers.append(browser)
        context = browser.new_context(
            base_url=live_server.url,
            permissions=["camera"] if allowed else [],
            viewport={"width": WIDTH, "height": HEIGHT},
        )
        watch.over(context)
        page = context.new_page()
        sign_in(page, farm.users["sam"])
        enrol(page, farm, live_server.url)
        return page

    yield film
    for browser in browsers:
        browser.close()


def test_a_printed_label_tilted_and_noisy_is_read_and_recorded_without_a_line(
    filming, gear: Gear, expect_problem
):
    expect_problem("ERR_INTERNET_DISCONNECTED")
    page = filming(gear.ana["clippers"])
    orchard = Orchard(page).open()
    page.wait_for_function("() => navigator.serviceWorker.controller", timeout=30_000)
    page.context.set_offline(True)
    page.reload()
    orchard.ready()
    page.locator('.bar [data-slot="scan"]').click()
    expect(orchard.screen).to_have_attribute("data-screen", "piece", timeout=30_000)
    orchard.shows(gear.ana["clippers"], "What is wrong")
    orchard.press("Blunt")
    orchard.press(gear.clippers)
    orchard.says("yes", gear.clippers)
    assert not verbs("fault_found")

    page.context.set_offline(False)
    orchard.sent()
    (found,) = verbs("fault_found")
    assert found.item.state.tag == gear.ana["clippers"]


def test_the_picture_is_shown_while_it_looks_and_let_go_afterwards(filming, farm: Farm):
    (tag,) = farm.gear("clippers")
    page = filming(tag)
    Orchard(page).open()
    assert opened(page) == {"torch": False, "label": "What the camera sees"}
    page.wait_for_function("() => window.read.length > 0", timeout=30_000)
    assert page.evaluate("() => window.video.videoWidth") > 0
    page.evaluate("() => window.camera.close()")
    assert set(page.evaluate("window.read")) == {tag}
    assert page.evaluate("() => window.video.srcObject") is None


def test_a_person_who_says_no_is_told_so_and_the_page_works_on(filming, gear: Gear):
    page = filming("CL0012Z", allowed=False)
    orchard = Orchard(page).open()
    assert opened(page) == {"why": "refused"}
    page.locator('.bar [data-slot="scan"]').click()
    expect(page.locator('[data-slot="camera-say"]')).not_to_be_empty()
    orchard.scan(gear.ana["clippers"])
    expect(orchard.screen).to_have_attribute("data-screen", "piece")


@pytest.fixture
def plain(page: Page, farm: Farm, sign_in: Any) -> Page:
    """The orchard page in a browser without a camera, and without a worker that may have its files already."""
    page.add_init_script("Object.defineProperty(navigator, 'serviceWorker', { value: undefined })")
    page.context.grant_permissions(["camera"])
    sign_in(page, farm.users["sam"])
    Orchard(page).open()
    return page


def test_no_camera_is_absent(plain):
    assert opened(plain) == {"why": "absent"}


def test_without_https_there_is_no_camera_to_ask_for(plain):
    assert opened(plain, media=None) == {"why": "insecure"}


# A camera that draws what it is told to, and counts whether it was let go.
CAMERA = """() => {
  const canvas = document.createElement('canvas');
  canvas.width = 64;
  canvas.height = 48;
  canvas.getContext('2d').fillRect(0, 0, 9, 9);
  const stream = canvas.captureStream(10);
  const [track] = stream.getVideoTracks();
  window.track = track;
  window.asked = [];
  navigator.mediaDevices.getUserMedia = async () => stream;
}"""


def test_without_a_decoder_the_camera_is_let_go(plain, expect_problem):
    expect_problem("ERR_FAILED|Failed to load")
    plain.evaluate(CAMERA)
    plain.context.route("**/decoder/**", lambda route: route.abort())
    assert opened(plain) == {"why": "no_decoder"}
    assert plain.evaluate("window.track.readyState") == "ended"


def test_the_torch_is_offered_where_there_is_one(plain):
    plain.evaluate(CAMERA)
    plain.evaluate(
        """() => {
          window.track.getCapabilities = () => ({ torch: true });
          window.track.applyConstraints = async (wanted) => { window.asked.push(wanted); };
        }"""
    )
    assert opened(plain)["torch"] is True
    plain.evaluate("() => window.camera.torch(true)")
    assert plain.evaluate("window.asked") == [{"advanced": [{"torch": True}]}]


DETECTOR = """([formats, fails]) => {
  window.BarcodeDetector = class {
    static async getSupportedFormats() { return formats; }
    async detect() {
      if (fails) throw new DOMException('no service', 'NotSupportedError');
      return [{ rawValue: 'BY THE PHONE' }];
    }
  };
}"""


def test_the_phones_own_detector_is_taken_where_it_reads_our_codes(plain):
    plain.evaluate(CAMERA)
    plain.evaluate(DETECTOR, [["ean_13", "qr_code"], False])
    plain.context.route("**/decoder/**", lambda route: pytest.fail("the decoder was fetched"))
    opened(plain)
    plain.wait_for_function("() => window.read.length > 0")
    assert plain.evaluate("window.read") == ["BY THE PHONE"]


@pytest.mark.parametrize(("formats", "fails"), [(["ean_13"], False), (["qr_code"], True)])
def test_else_the_decoder_that_we_fetched(plain, formats, fails):
    plain.evaluate(CAMERA)
    plain.evaluate(DETECTOR, [formats, fails])
    with plain.expect_response("**/zxing_reader.wasm") as wasm:
        opened(plain)
    assert wasm.value.ok


def test_a_code_that_stays_in_the_picture_is_told_once(plain):
    told = """async (module) => {
      const seen = (await import(module)).createSeen();
      const looks = [['A', 0], ['A', 90], ['A', 1500], ['B', 1600], ['A', 1700], ['A', 3300]];
      return looks.map(([text, at]) => seen(text, at));
    }"""
    assert plain.evaluate(told, MODULE) == [True, False, False, True, True, True]


@pytest.mark.parametrize(
    ("size", "turn", "wanted"),
    [
        ((1280, 720), 0, [280, 0, 720, 720, 1]),
        ((1920, 1080), 0, [600, 180, 720, 720, 1]),
        ((640, 480), 0, [80, 0, 480, 480, 1]),
        ((1280, 720), 1, [0, 0, 1280, 720, 1]),
        ((2560, 1440), 1, [0, 0, 2560, 1440, 0.5]),
    ],
)
def test_the_middle_and_the_whole_are_looked_at_in_turns(plain, size, turn, wanted):
    part = "async ([module, size, turn]) => (await import(module)).part(...size, turn)"
    assert plain.evaluate(part, [MODULE.replace("camera", "decoder"), size, turn]) == wanted
