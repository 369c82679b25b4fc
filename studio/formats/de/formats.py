"""Days and times as they are written in German: the month in words here too."""

DATE_FORMAT = "j. F Y"
SHORT_DATE_FORMAT = "j. M Y"
DATETIME_FORMAT = "j. F Y, H:i"
SHORT_DATETIME_FORMAT = "j. M Y, H:i"
TIME_FORMAT = "H:i"
MONTH_DAY_FORMAT = "j. F"
FIRST_DAY_OF_WEEK = 1

# names of our own
DAY = MONTH_DAY_FORMAT
DAY_TIME = "j. F, H:i"
SHORT_DAY = "j. M"
WEEKDAY_TIME = "l, j. F, H:i"
