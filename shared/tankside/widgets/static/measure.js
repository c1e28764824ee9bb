// How wide a text is, and where to break it.

let pen = null;

export function textWidth(text, size, bold) {
  pen = pen || document.createElement("canvas").getContext("2d");
  pen.font = `${bold ? "600 " : ""}${size}px system-ui, "Segoe UI", Helvetica, Arial, sans-serif`;
  return pen.measureText(text).width * 1.04; // a little air: the page's own font may be wider
}

export function breakLines(text, width, size, bold) {
  const lines = [];
  for (const word of text.split(" ")) {
    const last = lines.length - 1;
    if (last >= 0 && textWidth(`${lines[last]} ${word}`, size, bold) <= width) lines[last] += ` ${word}`;
    else lines.push(word);
  }
  return lines;
}
