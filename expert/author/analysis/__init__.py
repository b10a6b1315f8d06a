"""What repeats, contradicts, can never fire, or leaves a gap."""
