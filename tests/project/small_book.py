"""A small book with a row or two in every file of the contract, all made up."""

from pathlib import Path

from tests.pictures import PDF, photo

UUID = "8d6f2b1e-52cf-4a37-9b34-0a6b5f7d1c22"
FINDING = "0b1c2d3e-4f50-4a61-8b72-93a4b5c6d7e8"
WHEN = "2026-10-14T18:05:00+00:00"
FILES = {
    "practice": "name,address,locale,currency,distance_unit,country,travel_rule,travel_rate,closed_through,"
    "free_renail_days,vet_name,vet_phone\n"
    'Garrow,"12 Alder Lane\nQuillby",en-US,USD,mi,US,round_trip,1.50,2026-08-31,14,Dr. Quill,555-0142\n',
    "clients": "ref,name,email,address,language,billing,notes\n"
    "ann,Ann,ann@example.com,3 Elm Road,en-US,per_day,gate on the left\nben,Ben,,,,monthly,\n",
    "places": "ref,name,latitude,longitude,area,travel_rate,phone,gate_code\n"
    "barn,Barn,41.25,-74.5,North,2,555-0170,4711#\n",
    "horses": "ref,name,place,cycle_weeks,next_call,born,status,vet_name,vet_phone\n"
    "juniper,Juniper,barn,6,2026-12-01,2015,active,,\nmoss,Moss,barn,8,,,active,Dr. Orr,555-0143\n",
    "owners": "horse,client,share,from,to\njuniper,ann,60,2026-01-01,\njuniper,ben,40,2026-01-01,\n"
    "moss,ben,100,,2026-12-31\n",
    "suppliers": "ref,name,lead_time_days\ntarn,Tarn Iron,5\n",
    "items": "ref,name,kind,unit,pack_size,supplier,sale_price,taxable\n"
    "shoe,Shoe,shoe,each,10,tarn,9.50,yes\nglue,Glue,adhesive,ml,200,,0.08,no\n",
    "services": "ref,name,minutes,taxable\ntrim,Trim,30,yes\n",
    "prices": "service,item,from,price,horse,client,place\ntrim,,2026-01-01,50,,,\n,shoe,2026-01-01,10,,,\n"
    "trim,,2026-11-01,45,moss,,\n,shoe,2026-11-01,9,,ann,\ntrim,,2026-11-01,48,,,barn\n",
    "tax_rates": "name,from,rate,to,area\nState,2026-01-01,5,9999-12-31,North\n",
    "locations": "ref,name,vehicle\nvan,Van,truck\nshop,Shop,\n",
    "vehicles": "ref,name,placed_in_service\ntruck,Truck,2024-01-01\n",
    "signs": "ref,name,for_vet,position,archived\nheat,heat,yes,2,no\nring,growth ring,no,1,yes\n",
    "visits": "ref,date,place,status,arrive,leave,vehicle,note,arrived\n"
    "v1,2026-10-14,barn,done,09:00,10:30,truck,wet yard,09:12\nv2,2026-12-02,barn,planned,,,,,\n",
    "work": "visit,horse,service,quantity,price\nv1,juniper,trim,1,\nv1,moss,trim,1,55\nv2,moss,trim,1,\n",
    "materials": "visit,horse,item,quantity,foot,price\nv1,juniper,shoe,2,LF,\nv1,moss,glue,12.5,,0.10\n",
    "findings": "visit,horse,foot,zone,kind,note,refer_to_vet,resolved_on,marked,told_who,told_at,uuid\n"
    f"v1,juniper,LF,toe,crack,keep an eye,yes,,slight,Dr. Quill,{WHEN},{FINDING}\n",
    "photos": "ref,horse,visit,finding,what,note,taken_on\n"
    f"f1,juniper,v1,{FINDING},hoof,toe first,2026-10-14\n",
    "horse_times": "visit,horse,began,finished\nv1,juniper,09:20,09:52\nv1,moss,09:55,10:24\n",
    "foot_records": "visit,horse,foot,shoe,fitted,nails_outside,nails_inside,clips,angle,"
    "toe_length,toe_unit\n"
    "v1,juniper,LF,bar shoe,hot,3,2,side,52.5,3.25,in\n",
    "prescriptions": "ref,horse,foot,item,shoe,clips,pad,packing,angle,note,by,from,to\n"
    "x1,juniper,LF,shoe,,side,leather,pine tar,53.5,wide heels,Dr. Quill,2026-10-03,\n"
    "x2,juniper,RF,,bar shoe,,,,,,,2026-10-03,2026-12-01\n",
    "readings": f"date,vehicle,at,reading,recorded_at\n2026-10-14,truck,start,100.5,{WHEN}\n",
    "legs": "date,vehicle,start_odometer,end_odometer,distance,purpose,origin,reason,visit,recorded_at,uuid\n"
    f"2026-10-14,truck,101,110.5,,business,home,shoeing,v1,{WHEN},{UUID}\n"
    "2026-10-15,truck,,,3.2,personal,,,,,\n",
    "leg_changes": "leg,what,at,date,vehicle,distance,purpose,recorded_at\n"
    f"{UUID},changed,{WHEN},2026-10-14,truck,9,business,{WHEN}\n",
    "odometers": "date,vehicle,last,first\n2026-10-20,truck,200,0\n",
    "orders": "ref,date,supplier,note,expected\no1,2026-10-02,tarn,ring first,2026-10-30\n",
    "order_lines": "order,item,packs,pack_size,unit_price,cancelled\no1,shoe,3,10,3.40,5\n",
    "valuations": "from,method\n2026-11-01,fifo\n",
    "purchases": "date,item,quantity,unit_cost,supplier,reference,paid_on,location,order,lot,use_by\n"
    "2026-10-05,shoe,20,3.40,tarn,D7,2026-10-20,van,o1,,\n2026-10-06,glue,400,0.04,,,,shop,,L1,2027-05-01\n",
    "counts": "date,item,quantity,unit_cost,location\n2026-10-20,shoe,17,3.40,van\n",
    "count_sheets": "item,location,date,quantity\nglue,shop,2026-10-21,380\n",
    "stock_facts": "date,item,kind,quantity,location,to_location,visit,horse,reverses,note\n"
    "2026-10-21,shoe,waste,1,van,,,,,bent\n2026-10-22,shoe,transfer,4,van,shop,,,,\n"
    "2026-10-15,shoe,visit return,1,,,v1,juniper,,\n2026-10-21,shoe,reversal,1,van,,,,waste,\n",
    "invoices": "number,client,issued,due,net,tax,total,client_name\n"
    "A1,ann,2026-10-14,2026-10-28,30,1.50,31.50,Ann\n"
    "A2,ben,2026-10-31,2026-11-14,20,1,21,Ben\nA3,ben,2026-11-30,2026-12-14,25,0,25,Ben\n",
    "bank_deposits": "ref,date,note\nb1,2026-11-06,by mail\n",
    "payments": "ref,date,client,amount,method,invoice,tip,check_number,note,bounced,reverses,deposit\n"
    "p1,2026-10-20,ann,33.50,check,A1,2,1042,thanks,no,,b1\np2,2026-11-05,ben,10,cash,,,,,no,,b1\n"
    "p3,2026-11-06,ben,30,check,,5,77,,no,,\np4,2026-11-07,ben,-30,check,,-5,77,came back,yes,p3,\n",
    "payment_changes": "payment,what,at,by,date,client,amount,method,check_number,invoices\n"
    f"p1,changed,{WHEN},farrier,2026-10-20,ann,32,check,1040,A1; A2\n",
    "charges": "ref,date,client,name,quantity,unit_price,taxable,visit,kind\n"
    "c1,2026-11-20,ben,No-show,2,12.50,no,v2,no_show\nc2,2026-11-21,ann,Thank you,1,-4,yes,,discount\n",
    "bill_to": "horse,client,from,to,service\njuniper,ben,2026-11-01,2027-01-31,trim\n"
    "moss,ann,2026-12-15,,\n",
    "credit_notes": "number,invoice,issued,net,tax,total,reason,again,note\n"
    "C1,A1,2026-11-10,10,0.50,10.50,goodwill,no,late\nC2,A2,2026-11-12,20,1,21,correction,yes,\n",
    "rebillings": "visit,credit_note\nv1,C2\n",
    "credit_note_lines": "credit_note,line,net\nC1,1,10\nC2,1,20\n",
    "expenses": "ref,date,category,amount,vendor,vehicle,note,payment\n"
    "e1,2026-10-07,vehicle fuel,61.20,Fuel Stop,truck,,\ne2,2026-11-05,card fees,0.40,,,,p2\n",
    "repeating_expenses": "ref,category,amount,every,from,to,vendor,answered_through\n"
    "r1,insurance,40,month,2026-01-31,2027-12-31,Hillside,2026-09-30\n",
    "equipment": "ref,name,placed_in_service,cost,disposed_on,disposed_for\n"
    "q1,Anvil,2024-03-01,640,2026-10-02,120\n",
    "estimated_payments": "ref,date,amount,tax_year\nt1,2026-09-15,300,2026\n",
    "checked_warnings": "date,warning\n2026-10-14,9.5 miles and no reason\n",
    "packs": 'year,made_on,figures\n2025,2026-01-09,"{""year"": 2025}"\n',
    "mileage_rates": "scheme,from,rate,to,tier_from\nus_standard,2026-09-01,0.71,,0\n",
    "invoice_lines": "invoice,client,kind,visit,horse,code,quantity,unit_price,share,net,tax_names,tax_rates,"
    "tax_areas\nA1,ann,service,v1,juniper,trim,1,50,60,30.00,State,5,North\n"
    "A2,ben,service,v1,juniper,trim,1,50,40,20.00,State,5,North\n"
    "A3,ben,charge,v2,,c1,2,12.50,100,25.00,,,\n",
    "messages": "ref,kind,about,recipient,address,subject,text,message_id,state,queued_at\n"
    f"m1,invoice,A1,Ann,ann@mail.example,Invoice A1,Here it is.,<1@mail.example>,sent,{WHEN}\n",
    "message_attempts": f"message,at,what,note\nm1,{WHEN},sent,\n",
    "message_texts": "kind,subject,text,days\nreminder1,Invoice {number},Still open: {open}.,10\n",
    "disputes": "invoice,opened_on,note,settled_on\nA2,2026-11-08,Says one shoe was old,2026-11-12\n",
    "merges": "kind,kept,taken,name,at,by,moved,undone_at\n"
    f'client,ann,annie,Annie,{WHEN},farrier,"2 invoices, 1 payment",\n'
    f"item,shoe,old,Old shoe,{WHEN},,,{WHEN}\n",
    "life_events": "date,kind,horse,client,place,note,at,by\n"
    f"2026-10-02,sold,moss,ben,,with halter,{WHEN},farrier\n2026-11-03,done elsewhere,juniper,,,,,\n"
    "2026-11-04,moved,moss,,barn,,,\n2026-11-05,left,,ann,,,,\n",
    "files": "name,what,expense,photo\nbill.pdf,receipt,e1,\nhoof.jpg,photo,,f1\n",
}


def write_small_book(folder: Path) -> Path:
    """Write it into a new folder; return the folder."""
    (folder / "files").mkdir(parents=True)
    (folder / "files" / "bill.pdf").write_bytes(PDF)
    (folder / "files" / "hoof.jpg").write_bytes(photo())
    for name, text in FILES.items():
        (folder / f"{name}.csv").write_text(text, encoding="utf-8")
    return folder
