// How loud the microphone is, many times a second: the peak of what just came, 0 to 1.
export function watchLevel(stream, context, tell) {
  const source = context.createMediaStreamSource(stream);
  const analyser = context.createAnalyser();
  analyser.fftSize = 2048;
  source.connect(analyser);
  const samples = new Float32Array(analyser.fftSize);
  const timer = setInterval(() => {
    analyser.getFloatTimeDomainData(samples);
    let peak = 0;
    for (const sample of samples) peak = Math.max(peak, Math.abs(sample));
    tell(peak);
  }, 50);
  return () => { clearInterval(timer); source.disconnect(); };
}

export const decibels = (peak) => 20 * Math.log10(Math.max(peak, 1e-6));
