// Transcribes recordings with the learned transcriber of the npm package
// @spotify/basic-pitch 1.0.1 (Apache-2.0), its thresholds swept. The folder of node_modules
// is the first argument; the others are files of raw 32-bit samples at 22,050 a second.
// It prints an object: file, then setting, then [onset, midi] pairs.
const fs = require('fs'), path = require('path')
const modules = process.argv[2]
const load = name => require(path.join(modules, name))
const tf = load('@tensorflow/tfjs')
const { BasicPitch, outputToNotesPoly, noteFramesToTime } = load('@spotify/basic-pitch')

async function main() {
  load('@tensorflow/tfjs-backend-wasm')
  await tf.setBackend('wasm')
  await tf.ready()
  const folder = path.join(modules, '@spotify/basic-pitch/model')
  const model = JSON.parse(fs.readFileSync(path.join(folder, 'model.json')))
  const weights = fs.readFileSync(path.join(folder, model.weightsManifest[0].paths[0]))
  const listener = new BasicPitch(tf.loadGraphModel({ load: async () => ({
    modelTopology: model.modelTopology, format: model.format, weightSpecs: model.weightsManifest[0].weights,
    weightData: weights.buffer.slice(weights.byteOffset, weights.byteOffset + weights.length),
  }) }))
  // As the package has it, but for a kernel that this backend lacks: windows of two seconds
  // less 256 samples, which overlap by 30 frames of 256, from half of that before the sound.
  listener.prepareData = async samples => {
    const length = 2 * 22050 - 256, overlap = 30 * 256, windows = []
    for (let at = -overlap / 2; at < samples.length; at += length - overlap) {
      const window = new Float32Array(length)
      window.set(samples.subarray(Math.max(0, at), at + length), Math.max(0, -at))
      windows.push(window)
    }
    const all = new Float32Array(windows.length * length)
    windows.forEach((w, i) => all.set(w, i * length))
    return [tf.tensor3d(all, [windows.length, length, 1]), samples.length]
  }
  const all = {}
  for (const file of process.argv.slice(3)) {
    const raw = fs.readFileSync(file)
    const samples = new Float32Array(raw.buffer.slice(raw.byteOffset, raw.byteOffset + raw.length))
    const frames = [], onsets = []
    await listener.evaluateModel(samples, (f, o) => { frames.push(...f); onsets.push(...o) }, () => {})
    all[file] = {}
    for (const onset of [0.25, 0.35, 0.45, 0.55, 0.65, 0.75])
      for (const frame of [0.15, 0.25, 0.35, 0.5])
        for (const least of [3, 6, 11]) {
          const notes = noteFramesToTime(outputToNotesPoly(frames, onsets, onset, frame, least, true, null, 70))
          all[file][`onset ${onset} frame ${frame} length ${least}`] = notes.map(n => [n.startTimeSeconds, n.pitchMidi])
        }
  }
  console.log(JSON.stringify(all))
}
main()
