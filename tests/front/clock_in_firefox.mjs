// Uses the clock in Firefox at phone size, over WebDriver BiDi: node clock_in_firefox.mjs ADDRESS PROFILE. Prints one JSON object
// with the results.
import { createRequire } from 'node:module'
import { fileURLToPath } from 'node:url'

const require = createRequire(fileURLToPath(new URL('../../frontend/package.json', import.meta.url)))
const puppeteer = require('puppeteer-core')
const [address, profile] = process.argv.slice(2)

const start = async () => {
  const browser = await puppeteer.launch({ browser: 'firefox', executablePath: '/usr/bin/firefox-esr', headless: true, userDataDir: profile, protocolTimeout: 60_000 })
  const page = await browser.newPage()
  await page.setViewport({ width: 390, height: 844 })
  return { browser, page }
}
const press = (page, words) => page.locator(`::-p-text(${words})`).setTimeout(15_000).click()
const text = (page) => page.$eval('main', (main) => main.innerText)
const until = (page, words) => page.waitForFunction((wanted) => document.body.innerText.includes(wanted), { timeout: 15_000 }, words)

const seen = {}
let { browser, page } = await start()
try {
  seen.version = await browser.version()
  await page.goto(address)
  await press(page, 'New run')
  await page.waitForSelector('.figure')
  await (await page.$$('.figure'))[1].click()
  await page.locator('.big-key').click()
  await page.waitForSelector('.elapsed')
  const run = await page.evaluate(() => location.hash)
  await page.click('.big-key')
  await until(page, 'Kept on this phone.')
  seen.kept = await page.$eval('.big-key', (key) => key.textContent.trim())
  await page.reload()
  await until(page, 'within 10')
  seen.reloaded = (await text(page)).includes('first signal A')
  await page.click('.big-key')
  await until(page, 'Kept on this phone.')
  // Kill the browser, as an empty battery would.
  browser.process().kill('SIGKILL')
  ;({ browser, page } = await start())
  await page.goto(address + run)
  await until(page, 'lowest reading')
  seen.killed = (await text(page)).includes('within 10')
  await page.evaluate(() => (location.hash = 'check/one'))
  await until(page, 'Somebody else holds this phone')
  await page.type('form input', 'Bram')
  await page.keyboard.press('Enter')
  await page.waitForSelector('ol li')
  await press(page, 'Simple check')
  await until(page, 'Transmits: Bram')
  await page.type('input[inputmode=decimal]', '1.6')
  await until(page, 'Have it looked at')
  seen.checked = true
  await page.evaluate(() => (location.hash = 'here'))
  await page.waitForSelector('table')
  seen.here = await page.$$eval('tbody tr', (rows) => rows.map((row) => [...row.children].map((cell) => cell.textContent)))
} finally {
  await browser.close().catch(() => null)
}
console.log(JSON.stringify(seen))
