/** Make a picture of an element: all its drawings and canvases on top of each other. */

/** The computed styles that an SVG drawing needs to look the same on its own. */
const STYLES = [
  'fill', 'fill-opacity', 'fill-rule', 'stroke', 'stroke-width', 'stroke-opacity', 'stroke-dasharray', 'stroke-linecap', 'stroke-linejoin',
  'opacity', 'font-family', 'font-size', 'font-weight', 'font-variant-numeric', 'text-anchor', 'dominant-baseline', 'paint-order', 'visibility', 'display',
  'vector-effect',
] // prettier-ignore
const TIMES = 2
const MARGIN_PX = 8

/** A standalone drawing: each of its parts has its computed style inline. */
async function alone(svg: SVGSVGElement): Promise<string> {
  const copy = svg.cloneNode(true) as SVGSVGElement
  const parts = [svg, ...svg.querySelectorAll('*')]
  const copies = [copy, ...copy.querySelectorAll('*')]
  parts.forEach((part, i) => {
    const style = getComputedStyle(part)
    for (const name of STYLES) copies[i]?.setAttribute(name, style.getPropertyValue(name))
    copies[i]?.removeAttribute('style')
    copies[i]?.removeAttribute('class')
  })
  for (const image of copy.querySelectorAll('image')) image.setAttribute('href', await carried(image.getAttribute('href') ?? ''))
  const { width, height } = svg.getBoundingClientRect()
  copy.setAttribute('xmlns', 'http://www.w3.org/2000/svg')
  copy.setAttribute('width', String(width))
  copy.setAttribute('height', String(height))
  if (!copy.hasAttribute('viewBox')) copy.setAttribute('viewBox', `0 0 ${width} ${height}`)
  return `data:image/svg+xml;charset=utf-8,${encodeURIComponent(new XMLSerializer().serializeToString(copy))}`
}

/** A file as a data address, because a copied drawing cannot load anything. */
async function carried(address: string): Promise<string> {
  const content = await (await fetch(address)).blob()
  return new Promise((done, failed) => {
    const reader = new FileReader()
    reader.onload = () => done(reader.result as string)
    reader.onerror = () => failed(reader.error ?? new Error('not read'))
    reader.readAsDataURL(content)
  })
}

async function imageOf(address: string): Promise<HTMLImageElement> {
  const image = new Image()
  image.src = address
  await image.decode()
  return image
}

/** Outermost drawings and canvases, in stacking order. */
function layers(element: Element): (SVGSVGElement | HTMLCanvasElement)[] {
  return [...element.querySelectorAll<SVGSVGElement | HTMLCanvasElement>('svg, canvas')].filter((one) => !one.parentElement?.closest('svg') && !one.closest('.screen-only, label, button') && one.checkVisibility())
}

/** Return a PNG of an element's drawings on the sheet's colour, at twice the screen's resolution. */
export async function pictureOf(element: Element): Promise<Blob> {
  const all = layers(element)
  const boxes = all.map((one) => one.getBoundingClientRect())
  const [left, top] = [Math.min(...boxes.map((box) => box.left)) - MARGIN_PX, Math.min(...boxes.map((box) => box.top)) - MARGIN_PX]
  const [right, bottom] = [Math.max(...boxes.map((box) => box.right)) + MARGIN_PX, Math.max(...boxes.map((box) => box.bottom)) + MARGIN_PX]
  const canvas = document.createElement('canvas')
  canvas.width = Math.ceil((right - left) * TIMES)
  canvas.height = Math.ceil((bottom - top) * TIMES)
  const context = canvas.getContext('2d')
  if (!context) throw new Error('no canvas')
  context.scale(TIMES, TIMES)
  context.fillStyle = getComputedStyle(element).getPropertyValue('--paper') || 'white'
  context.fillRect(0, 0, canvas.width, canvas.height)
  for (const [i, one] of all.entries()) {
    const box = boxes[i]
    if (!box?.width || !box.height) continue
    const image = one instanceof HTMLCanvasElement ? one : await imageOf(await alone(one))
    context.drawImage(image, box.left - left, box.top - top, box.width, box.height)
  }
  return new Promise((done, failed) => canvas.toBlob((blob) => (blob ? done(blob) : failed(new Error('no picture'))), 'image/png'))
}
