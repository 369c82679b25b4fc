"""The media types of sounds as they are kept, and which of them every browser plays."""

M4A, WEBM, MP3, FLAC, WAV = "audio/mp4", "audio/webm", "audio/mpeg", "audio/flac", "audio/wav"
CONTENT_TYPES = frozenset({M4A, WEBM, MP3, FLAC, WAV})
# from memory: iPhones before iOS 17 play no Opus, a browser built without AAC plays no audio/mp4; what three
# browsers play here is shown by tests/browser/other
EVERYWHERE = frozenset({MP3, FLAC, WAV})
