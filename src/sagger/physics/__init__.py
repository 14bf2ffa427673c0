"""Laws that know nothing of jobs [SI]."""
