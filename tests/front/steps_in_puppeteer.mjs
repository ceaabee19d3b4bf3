// Runs steps of the app: node steps_in_puppeteer.mjs chrome|firefox PROGRAM ADDRESS STEPS. Prints what was read.
import { createRequire } from 'node:module'
import { fileURLToPath } from 'node:url'

const require = createRequire(fileURLToPath(new URL('../../frontend/package.json', import.meta.url)))
const puppeteer = require('puppeteer-core')
const [kind, program, address, steps] = process.argv.slice(2)
const timeout = Number(process.env.T ?? 120_000)

const browser = await puppeteer.launch({ browser: kind, executablePath: program, headless: true, protocolTimeout: timeout, args: kind === 'chrome' ? ['--no-sandbox'] : [] })
const seen = { errors: [] }
try {
  const page = await browser.newPage()
  await page.setViewport({ width: 1280, height: 800 })
  page.on('pageerror', (error) => seen.errors.push(String(error)))
  const holds = (script) => page.waitForFunction(script, { timeout, polling: 100 })
  const todo = {
    go: (where) => page.goto(address + where),
    see: (css) => page.waitForSelector(css, { timeout, visible: true }),
    until: (words) => holds(`document.body.innerText.replaceAll('\\u00a0', ' ').includes(${JSON.stringify(words)})`),
    holds,
    read: async (name, script) => { seen[name] = await page.evaluate(script) },
    press: async (tag, words) => {
      const find = `[...document.querySelectorAll('${tag}')].find((one) => (one.ariaLabel ?? one.innerText).trim() === ${JSON.stringify(words)} && !one.disabled)`
      await holds(`!!${find}`)
      await (await page.evaluateHandle(find)).asElement().click()
    },
    type: async (label, words) => {
      const find = `[...document.querySelectorAll('label')].find((one) => one.innerText.includes(${JSON.stringify(label)}))`
      await holds(`!!${find}`)
      const field = await page.evaluateHandle(`(() => { const label = ${find}; return label.control ?? label.querySelector('input') })()`)
      await field.asElement().type(words)
    },
    drag: async (css, dx, dy) => {
      const box = await (await page.waitForSelector(css)).boundingBox()
      const [x, y] = [box.x + box.width / 2, box.y + box.height / 2]
      await page.mouse.move(x, y)
      await page.mouse.down()
      await page.mouse.move(x + dx, y + dy, { steps: 6 })
      await page.mouse.up()
    },
  }
  for (const [what, ...told] of JSON.parse(steps)) {
    seen.at = [what, ...told]
    await todo[what](...told)
  }
} catch (error) {
  seen.failed = String(error)
  seen.text = await browser.pages().then((pages) => pages.at(-1).evaluate('document.body.innerText.slice(0, 1500)')).catch(() => '')
} finally {
  await browser.close().catch(() => null)
}
console.log(JSON.stringify(seen))
