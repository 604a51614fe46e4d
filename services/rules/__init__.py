"""Pure plans: days of a course, order of stops, travel, loads."""
