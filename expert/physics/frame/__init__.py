"""What every formula needs: errors, refusals, catalogue, uncertainty."""
