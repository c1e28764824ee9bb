// The continuity sound. Made here, not played from a file; silent where the browser has no audio.

export function makeSound() {
  let context = null;
  let on = true;
  return {
    get on() {
      return on;
    },
    set on(value) {
      on = Boolean(value);
    },
    beep() {
      const Audio = window.AudioContext || window.webkitAudioContext;
      if (!on || !Audio) return false;
      try {
        context = context || new Audio();
        if (context.state === "suspended") context.resume();
        const tone = context.createOscillator();
        const level = context.createGain();
        const start = context.currentTime;
        tone.frequency.value = 2100;
        level.gain.setValueAtTime(0.0001, start);
        level.gain.exponentialRampToValueAtTime(0.08, start + 0.01);
        level.gain.setValueAtTime(0.08, start + 0.3);
        level.gain.exponentialRampToValueAtTime(0.0001, start + 0.35);
        tone.connect(level).connect(context.destination);
        tone.start(start);
        tone.stop(start + 0.36);
        return true;
      } catch {
        return false; // a browser may refuse audio until the page was clicked
      }
    },
    close() {
      if (context) context.close();
      context = null;
    },
  };
}
