// Loads MusicXML files into verovio and prints, for each, what the engraver
// found in it as a line of JSON. The first argument is the folder that has
// verovio in it (npm install verovio); behind "play" it prints the MIDI file that
// verovio makes of each, in base64, and draws nothing.
import { createRequire } from 'node:module';
import { pathToFileURL } from 'node:url';
import fs from 'node:fs';

let [folder, ...files] = process.argv.slice(2);
const play = files[0] === 'play';
if (play) files = files.slice(1);
const require = createRequire(folder + '/');
const load = async (name) => import(pathToFileURL(require.resolve(name)));
const { default: createModule } = await load('verovio/wasm');
const { VerovioToolkit } = await load('verovio/esm');
const kit = new VerovioToolkit(await createModule());
for (const file of files) {
  if (!kit.loadData(fs.readFileSync(file, 'utf8'))) throw new Error(file);
  if (play) {
    console.log(JSON.stringify({ midi: kit.renderToMIDI() }));
    continue;
  }
  const mei = kit.getMEI();
  let drawn = 0;
  for (let page = 1; page <= kit.getPageCount(); page++) {
    drawn += (kit.renderToSVG(page).match(/class="note"/g) || []).length;
  }
  const count = (element) => (mei.match(new RegExp(`<${element}[ >]`, 'g')) || []).length;
  console.log(JSON.stringify({ measures: count('measure'), notes: count('note'), harmonies: count('harm'), drawn }));
}
