"""What the web process does with a photo before it is kept, done in a child to see what it costs."""

import io

from reeds.photo.vision.decode import opened


def header(data):
    with opened(io.BytesIO(data)) as picture:
        return picture.format
