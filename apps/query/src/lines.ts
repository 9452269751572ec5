/** Lines of a stream of UTF-8 text, without their ends. */
export async function* linesOf(stream: AsyncIterable<Uint8Array>): AsyncGenerator<string> {
  const decoder = new TextDecoder();
  let rest = '';
  for await (const part of stream) {
    rest += decoder.decode(part, { stream: true });
    for (let end = rest.indexOf('\n'); end >= 0; end = rest.indexOf('\n')) {
      yield rest.slice(0, end);
      rest = rest.slice(end + 1);
    }
  }
}
