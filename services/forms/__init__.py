"""What a person types of the schedule, of crews and of people."""
