"""Run steps of the app in Safari's engine: xvfb-run python steps_in_webkit.py ADDRESS STEPS. Prints what was read."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable
from typing import Any

from selenium import webdriver
from selenium.webdriver.common.action_chains import ActionChains
from selenium.webdriver.common.by import By
from selenium.webdriver.support.ui import WebDriverWait
from selenium.webdriver.webkitgtk.options import Options
from selenium.webdriver.webkitgtk.service import Service

from engines import MINIBROWSER


class Steps:
    """The steps of the app's flows, in one window."""

    def __init__(self, driver: Any, address: str) -> None:
        self.driver = driver
        self.address = address
        self.seen: dict[str, Any] = {"errors": []}

    def go(self, where: str) -> None:
        self.driver.get(self.address + where)

    def see(self, css: str) -> None:
        self.holds(f"!!document.querySelector({json.dumps(css)})")

    def until(self, words: str) -> None:
        self.holds(f"document.body.innerText.replaceAll('\\u00a0', ' ').includes({json.dumps(words)})")

    def holds(self, script: str) -> Any:
        return WebDriverWait(self.driver, 120, poll_frequency=0.1).until(lambda _: self.told(script))

    def read(self, name: str, script: str) -> None:
        self.seen[name] = self.told(script)

    def told(self, script: str) -> Any:
        return self.driver.execute_script(f"return {script}")

    def press(self, tag: str, words: str) -> None:
        wanted = f"(one.ariaLabel ?? one.innerText).trim() === {json.dumps(words)} && !one.disabled"
        self.holds(f"[...document.querySelectorAll('{tag}')].find((one) => {wanted})").click()

    def type(self, label: str, words: str) -> None:
        labels = f"[...document.querySelectorAll('label')].filter((one) => one.innerText.includes({json.dumps(label)}))"
        self.holds(f"{labels}.map((one) => one.control ?? one.querySelector('input'))[0]").send_keys(words)

    def drag(self, css: str, dx: int, dy: int) -> None:
        thing = self.driver.find_element(By.CSS_SELECTOR, css)
        chain = ActionChains(self.driver, duration=50).click_and_hold(thing)
        for k in range(1, 7):
            chain.move_by_offset(
                round(dx * k / 6) - round(dx * (k - 1) / 6), round(dy * k / 6) - round(dy * (k - 1) / 6)
            )
        chain.release().perform()

    def do(self, steps: list[list[Any]]) -> None:
        for what, *told in steps:
            self.seen["at"] = [what, *told]
            step: Callable[..., Any] = getattr(self, what)
            step(*told)


def main(address: str, steps: str) -> dict[str, Any]:
    options = Options()
    options.binary_location = MINIBROWSER
    options.add_argument("--automation")
    driver = webdriver.WebKitGTK(options=options, service=Service(executable_path="/usr/bin/WebKitWebDriver"))
    doing = Steps(driver, address)
    try:
        driver.set_window_size(1280, 800)
        doing.do(json.loads(steps))
    except Exception as error:
        doing.seen["failed"] = f"{type(error).__name__}: {error}"
    finally:
        driver.quit()
    return doing.seen


if __name__ == "__main__":
    print(json.dumps(main(sys.argv[1], sys.argv[2])))
