"""From a photo's pixels to millimetres with their uncertainty, without the web: numpy, OpenCV, scipy, Pillow.

Conventions
-----------
These hold in every module and are not said again there.

Pixels
    (x, y), x to the right and y down, counted from the outer corner of the upper left pixel of the upright
    picture: the middle of that pixel is (0.5, 0.5). OpenCV counts from the middle; 0.5 is taken off or added
    where it is called, nowhere else. Arrays of pixels are (height, width) or (height, width, 3), RGB, uint8.
Table
    mm, right-handed: x to the right and y down along the card, origin at its upper left corner, z into the
    table. A point h above the table has z = -h. For a ruler or an ID-1 card the same axes begin beneath the
    camera or at the card's first corner.
Axis
    mm along the reed from the staple's foot towards the tip, and level across it to the right as seen from
    the foot. It runs through foot and tip at their heights above the table (`lengths.reed_axis`). A landmark
    is seen where the reed's surface is, `lengths.OVER_AXIS_MM` over the axis towards the eye.
Camera
    Ten numbers from the table's axes to pixels (`camera.project`): log focal length in px, radial distortion
    as a share at the picture's corner, principal point from the middle, turn (Rodrigues), shift in mm. A
    focal length "for a 35 mm frame" is in mm.
Uncertainty
    u is a standard uncertainty (k = 1) in the unit of its value, a `_SHARE` of it where it says so; what is
    printed as expanded has k = 2. Sources are JCGM 100:2008 (GUM) and JCGM 101:2008.
Landmarks and lengths
    By name, as in `lengths.LANDMARKS` and `lengths.LENGTHS`; a landmark that is not sure is not there.
Grey levels
    0 to 255.
Refusals
    `refusal.PhotoRefused` with one English sentence, marked for translation.

Constants end in their unit. Where none is given as source, a constant is our own choice; what all of them
together lead to is printed by `tests.accuracy.photos`, on photos of the simulator.
"""
