"""What a person sees while a checklist runs."""
