"""Air and water: barometer, moisture."""
