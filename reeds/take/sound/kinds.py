"""The media types of sounds as they are kept, and which of them every browser plays."""

M4A, WEBM, MP3, FLAC, WAV = "audio/mp4", "audio/webm", "audio/mpeg", "audio/flac", "audio/wav"
CONTENT_TYPES = frozenset({M4A, WEBM, MP3, FLAC, WAV})
# from memory: iPhones before iOS 17 play no Opus, and a browser built without AAC plays no audio/mp4
EVERYWHERE = frozenset({MP3, FLAC, WAV})
