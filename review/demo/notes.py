"""What was written down on set in the demo's scenario, as the spreadsheet of the day would be saved."""

CSV = """date,timecode,camera,text,tag
2026-11-12,07:58:14:00,,a gull lands on the near pile,first light
2026-11-12,08:31:14:00,,clap: all three cameras and sound,sync
2026-11-12,08:31:19:00,A,they start to haul before they are told to,the haul
2026-11-12,08:52:36:00,,the skipper shows how high the water stood,interview
2026-11-12,11:20:00:00,,the baker's van stops at the quay; nobody was rolling,villagers
2026-11-12,13:20:03:00,,winch takes the load: listen to the wire,winchman
2026-11-12,16:05:06:00,A,first blow of the hammer,workshop
2026-11-13,09:40:07:00,,clap at the bench,sync
2026-11-13,09:40:26:00,,the hull moves for the first time,the haul
2026-11-13,09:40:44:00,,the carpenter decides,a decision
2026-11-13,11:05:05:00,,afloat,the haul
2026-11-13,15:30:04:00,,lamp on the quay is lit,last light
"""
