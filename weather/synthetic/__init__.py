"""Parts of generated weather: draws, rain, sky, air, wind; put together by `weather.generator`."""
