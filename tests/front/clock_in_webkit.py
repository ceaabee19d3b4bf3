"""Use the clock in Safari's engine: xvfb-run python clock_in_webkit.py ADDRESS. Prints results as JSON.

Such a window keeps its storage only until it is closed, so a killed process cannot be tested here.
"""

from __future__ import annotations

import json
import sys
from typing import Any

from selenium import webdriver
from selenium.common.exceptions import StaleElementReferenceException
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys
from selenium.webdriver.support.ui import WebDriverWait
from selenium.webdriver.webkitgtk.options import Options
from selenium.webdriver.webkitgtk.service import Service

from engines import MINIBROWSER


def main(address: str) -> dict[str, Any]:
    options = Options()
    options.binary_location = MINIBROWSER
    options.add_argument("--automation")
    driver = webdriver.WebKitGTK(options=options, service=Service(executable_path="/usr/bin/WebKitWebDriver"))
    try:
        driver.set_window_size(390, 844)
        return use(driver, address)
    finally:
        driver.quit()


def use(driver: Any, address: str) -> dict[str, Any]:
    seen: dict[str, Any] = {"version": driver.capabilities["browserVersion"]}
    wait = WebDriverWait(driver, 20, ignored_exceptions=[StaleElementReferenceException])

    def body() -> str:
        return str(driver.execute_script("return document.body.innerText")).replace("\u00a0", " ")

    def until(words: str) -> None:
        wait.until(lambda _: words in body())

    def press(css: str, words: str) -> None:
        def there(_: Any) -> Any:
            return [one for one in driver.find_elements(By.CSS_SELECTOR, css) if one.text.strip() == words]

        wait.until(there)[0].click()

    driver.get(address)
    press("button", "New run")
    press("button", "2")
    press("button", "Alarm")
    wait.until(lambda _: driver.find_elements(By.CSS_SELECTOR, ".elapsed"))
    press(".big-key", "first signal")
    until("Kept on this phone.")
    seen["kept"] = driver.find_element(By.CSS_SELECTOR, ".big-key").text.strip()
    driver.refresh()
    until("within 10 m")
    seen["reloaded"] = "first signal A" in body()
    driver.execute_script("location.hash = 'check/one'")
    until("Somebody else holds this phone")
    driver.find_element(By.CSS_SELECTOR, "form input").send_keys("Bram", Keys.ENTER)
    wait.until(lambda _: driver.find_elements(By.CSS_SELECTOR, "ol li"))
    press("button", "Simple check")
    until("Transmits: Bram")
    driver.find_element(By.CSS_SELECTOR, "input[inputmode=decimal]").send_keys("1.6")
    until("Have it looked at")
    seen["checked"] = True
    driver.execute_script("location.hash = 'here'")
    wait.until(lambda _: driver.find_elements(By.CSS_SELECTOR, "tbody tr"))
    seen["here"] = driver.execute_script(
        "return [...document.querySelectorAll('tbody tr')].map((row) => [...row.children].map((one) => one.textContent))"
    )
    return seen


if __name__ == "__main__":
    print(json.dumps(main(sys.argv[1])))
