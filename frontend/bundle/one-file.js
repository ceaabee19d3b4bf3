import { licences } from './licences.js'

/**
 * Writes every script and style of the built page into the page itself, so that it needs no other file and no network.
 *
 * @param {[string, string][]} [beside] additional libraries in the page, each with its licence text
 * @returns {import('vite').Plugin}
 */
export function oneFile(beside = []) {
  return {
    name: 'one-file',
    enforce: 'post',
    config: () => ({
      build: { assetsInlineLimit: 1_000_000, cssCodeSplit: false, modulePreload: false },
    }),
    generateBundle(_options, bundle) {
      const pages = Object.values(bundle).filter((file) => file.fileName.endsWith('.html'))
      for (const page of pages) {
        page.source = String(page.source)
          .replace(/[ \t]*<script type="module"[^>]* src="\.?\/?([^"]+)"[^>]*><\/script>\n?/g, '')
          .replace(/[ \t]*<link rel="stylesheet"[^>]* href="\.?\/?([^"]+)"[^>]*>\n?/g, '')
          .replace('</html>', () => licences(beside) + '</html>')
          .replace('<!-- styles -->', () => `<style>${take(bundle, '.css')}</style>`)
          .replace('<!-- scripts -->', () => `<script type="module">${take(bundle, '.js')}</script>`)
      }
      const left = Object.keys(bundle).filter((name) => !name.endsWith('.html'))
      if (left.length) this.error(`these files could not be written into the page: ${left.join(', ')}`)
    },
  }
}

/** Remove the files with this extension from the bundle; return their text, made safe inside an element. */
function take(bundle, ending) {
  const names = Object.keys(bundle).filter((name) => name.endsWith(ending))
  const text = names.map((name) => bundle[name].code ?? String(bundle[name].source)).join('\n')
  for (const name of names) Reflect.deleteProperty(bundle, name)
  return text.replaceAll('</script', '<\\/script').replaceAll('</style', '<\\/style').replaceAll('<!--', '<\\!--')
}
