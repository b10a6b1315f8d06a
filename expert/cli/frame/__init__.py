"""What all commands share: parser, options, output."""
